#include "globe/limb_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"

namespace lull::globe {

namespace {

constexpr double kBesideLimb = 0.12;  // of the radius
constexpr double kBlurReach = 4;      // in sigma
constexpr double kHaloReach = 2.5;    // in sigma: what lies further is even
// Of the derivatives, in the order of the unknowns.
constexpr LimbUnknowns kSteps = {0.1, 0.1, 0.1, 0.05, 0.02, 0.02, 0.05};
constexpr std::size_t kSectors = 24;
constexpr int kFine = 4;            // samples a side of a pixel near the limb
constexpr double kNearLimb = 0.35;  // by the cosine at the observer

double light_at(const GlobeView& view, double x, double y, double darkening) {
  const auto seen = view.seen_at(x, y);
  return seen ? minnaert(seen->cos_sun, seen->cos_observer, darkening) : 0;
}

// The mean of samples within the pixel where the globe ends in it or near it.
double light_of_pixel(const GlobeView& view, int x, int y, double darkening) {
  const auto middle = view.seen_at(x, y);
  if (middle && middle->cos_observer > kNearLimb)
    return minnaert(middle->cos_sun, middle->cos_observer, darkening);
  double sum = 0;
  for (int j = 0; j < kFine; ++j) {
    for (int i = 0; i < kFine; ++i)
      sum += light_at(view, x + (i + 0.5) / kFine - 0.5, y + (j + 0.5) / kFine - 0.5, darkening);
  }
  return sum / (kFine * kFine);
}

std::vector<float> gaussian(double sigma_px) {
  const int reach = std::max(1, static_cast<int>(std::ceil(kBlurReach * sigma_px)));
  std::vector<float> taps(static_cast<std::size_t>(2 * reach + 1));
  double sum = 0;
  for (int i = -reach; i <= reach; ++i) sum += std::exp(-0.5 * i * i / (sigma_px * sigma_px));
  for (int i = -reach; i <= reach; ++i)
    taps[static_cast<std::size_t>(i + reach)] =
        static_cast<float>(std::exp(-0.5 * i * i / (sigma_px * sigma_px)) / sum);
  return taps;
}

// Along rows, into a plane that is turned: twice, and it is blurred both ways. Most of it is dark.
Plane blurred_rows_turned(PlaneView from, const std::vector<float>& taps) {
  const int reach = static_cast<int>(taps.size()) / 2;
  const int width = from.width_px;
  Plane out(from.height_px, width);
  parallel_for(from.height_px, [&](std::int64_t y) {
    std::vector<float> line(static_cast<std::size_t>(width + 2 * reach));
    const float* row = from.row(static_cast<int>(y));
    for (int x = 0; x < width; ++x) {
      if (row[x] == 0) continue;
      for (std::size_t i = 0; i < taps.size(); ++i)
        line[static_cast<std::size_t>(x) + i] += taps[i] * row[x];
    }
    for (int x = 0; x < width; ++x) out.row(x)[y] = line[static_cast<std::size_t>(x + reach)];
  });
  return out;
}

Plane blurred(const Plane& sharp, double sigma_px) {
  const std::vector<float> taps = gaussian(sigma_px);
  const Plane turned = blurred_rows_turned(sharp.view(), taps);
  return blurred_rows_turned(turned.view(), taps);
}

double blur_of(const LimbUnknowns& u) { return std::exp(u[limb_blur]); }

double halo_of(const LimbUnknowns& u) { return std::exp(u[limb_blur] + u[halo_width]); }

// Core and halo, together one.
Plane mixed(const Plane& core, const Plane& halo, double share) {
  Plane out = Plane::copy_of(core.view());
  scale(out.view(), static_cast<float>(1 - share));
  return weighted_sum(out.view(), static_cast<float>(share), halo.view());
}

struct Pace {
  double x;
  double y;
};

// A picture whose parts have moved by `step` times their pace, to first order.
template <class PaceAt>
Plane moved_by(const Plane& from, double step, const PaceAt& pace_at) {
  Plane out = Plane::copy_of(from.view());
  for (int y = 1; y + 1 < from.height(); ++y) {
    for (int x = 1; x + 1 < from.width(); ++x) {
      const Pace pace = pace_at(x, y);
      const auto right = static_cast<double>(from.row(y)[x + 1] - from.row(y)[x - 1]);
      const auto down = static_cast<double>(from.row(y + 1)[x] - from.row(y - 1)[x]);
      out.row(y)[x] -= static_cast<float>(0.5 * step * (pace.x * right + pace.y * down));
    }
  }
  return out;
}

}  // namespace

LimbModel::LimbModel(PlaneView picture, const GlobeShape& shape, const GlobePlace& start)
    : picture_(picture), shape_(shape), start_(start) {
  const int reach = static_cast<int>(1.3 * start.radius_px) + 8;
  const int cx = static_cast<int>(std::lround(start.x_px));
  const int cy = static_cast<int>(std::lround(start.y_px));
  box_ = {std::max(cx - reach, 0), std::max(cy - reach, 0),
          std::min(cx + reach + 1, picture.width_px), std::min(cy + reach + 1, picture.height_px)};
  collect();
}

GlobePlace LimbModel::scaled(double factor) const {
  GlobePlace out = start_;
  out.radius_px *= factor;
  return out;
}

void LimbModel::collect() {
  const GlobeView outer(shape_, scaled(1 + kBesideLimb));
  const GlobeView inner(shape_, scaled(1 - kBesideLimb));
  double dark = 0;
  double bright = 0;
  int n_dark = 0;
  int n_bright = 0;
  for (int y = box_.y0; y < box_.y1; ++y) {
    for (int x = box_.x0; x < box_.x1; ++x) {
      const auto light = static_cast<double>(picture_.at(x, y));
      const bool within = inner.seen_at(x, y).has_value();
      if (within || !outer.seen_at(x, y)) {
        (within ? bright : dark) += light;
        (within ? n_bright : n_dark) += 1;
        continue;
      }
      const double turn =
          std::atan2(y - start_.y_px, x - start_.x_px) / (2 * std::numbers::pi) + 0.5;
      const auto sector = static_cast<std::size_t>(turn * kSectors) % kSectors;
      samples_.push_back({x, y, sector, light});
    }
  }
  const double sky = n_dark > 0 ? dark / n_dark : 0;
  for (Sample& sample : samples_) sample.light -= sky;
  brightness_ = n_bright > 0 ? bright / n_bright - sky : 0;
}

GlobePlace LimbModel::place(const LimbUnknowns& unknowns) const {
  GlobePlace out = start_;
  out.x_px = unknowns[0];
  out.y_px = unknowns[1];
  out.radius_px = unknowns[2];
  return out;
}

Plane LimbModel::drawn(const LimbUnknowns& unknowns) const {
  const GlobeView view(shape_, place(unknowns));
  // What lies further in reaches no sample by the blur.
  const double reach = std::max(kBlurReach * blur_of(unknowns), kHaloReach * halo_of(unknowns));
  const double unseen = 1 - kBesideLimb - (reach + 3) / start_.radius_px;
  const GlobeView inner(shape_, scaled(std::max(unseen, 0.01)));
  GlobePlace beyond = place(unknowns);
  beyond.radius_px += 2;
  const GlobeView outer(shape_, beyond);
  Plane plane(box_.width_px(), box_.height_px());
  parallel_for(plane.height(), [&](std::int64_t line) {
    float* row = plane.row(static_cast<int>(line));
    const int y = box_.y0 + static_cast<int>(line);
    for (int x = box_.x0; x < box_.x1; ++x) {
      if (!outer.holds(x, y) || (unseen > 0 && inner.holds(x, y))) continue;
      row[x - box_.x0] = static_cast<float>(light_of_pixel(view, x, y, unknowns[limb_darkening]));
    }
  });
  return plane;
}

std::vector<double> LimbModel::misfits(const Plane& model) const {
  const auto modelled = [&](const Sample& sample) {
    return static_cast<double>(model.row(sample.y - box_.y0)[sample.x - box_.x0]);
  };
  std::array<double, kSectors> along{};
  std::array<double, kSectors> power{};
  for (const Sample& sample : samples_) {
    const double m = modelled(sample);
    along[sample.sector] += m * sample.light;
    power[sample.sector] += m * m;
  }
  std::vector<double> out;
  out.reserve(samples_.size());
  for (const Sample& sample : samples_) {
    const double gain = power[sample.sector] > 0 ? along[sample.sector] / power[sample.sector] : 0;
    out.push_back(sample.light - gain * modelled(sample));
  }
  return out;
}

std::vector<double> LimbModel::differences(const LimbUnknowns& u) const {
  const Plane sharp = drawn(u);
  return misfits(mixed(blurred(sharp, blur_of(u)), blurred(sharp, halo_of(u)), u[halo_share]));
}

std::vector<std::vector<double>> LimbModel::slopes(const LimbUnknowns& u) const {
  const Plane sharp = drawn(u);
  const Plane core = blurred(sharp, blur_of(u));
  const Plane halo = blurred(sharp, halo_of(u));
  const double share = u[halo_share];
  const Plane now = mixed(core, halo, share);
  const std::vector<double> base = misfits(now);
  std::vector<std::vector<double>> out(u.size());
  const auto compare = [&](LimbUnknown unknown, const Plane& moved) {
    out[unknown] = misfits(moved);
    for (std::size_t k = 0; k < base.size(); ++k)
      out[unknown][k] = (out[unknown][k] - base[k]) / kSteps[unknown];
  };
  // The globe grows away from its centre, and so does its picture.
  const double cx = u[limb_x] - box_.x0;
  const double cy = u[limb_y] - box_.y0;
  compare(limb_x, moved_by(now, kSteps[limb_x], [](int, int) { return Pace{1, 0}; }));
  compare(limb_y, moved_by(now, kSteps[limb_y], [](int, int) { return Pace{0, 1}; }));
  compare(limb_radius, moved_by(now, kSteps[limb_radius], [&](int x, int y) {
            return Pace{(x - cx) / u[limb_radius], (y - cy) / u[limb_radius]};
          }));
  compare(limb_blur, mixed(blurred(sharp, std::exp(u[limb_blur] + kSteps[limb_blur])),
                           blurred(sharp, halo_of(u) * std::exp(kSteps[limb_blur])), share));
  compare(halo_width,
          mixed(core, blurred(sharp, halo_of(u) * std::exp(kSteps[halo_width])), share));
  compare(halo_share, mixed(core, halo, share + kSteps[halo_share]));
  LimbUnknowns darker = u;
  darker[limb_darkening] += kSteps[limb_darkening];
  const Plane dark = drawn(darker);
  compare(limb_darkening, mixed(blurred(dark, blur_of(u)), blurred(dark, halo_of(u)), share));
  return out;
}

}  // namespace lull::globe
