#include "globe/limb_model.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/parallel.h"
#include "globe/limb_blur.h"
#include "globe/rings.h"

namespace lull::globe {

namespace {

constexpr double kBesideLimb = 0.12;  // of the radius
constexpr double kRingBlurs = 2.5;    // in sigma: so far rings change what lies beside them
constexpr double kHaloReach = 2.5;    // in sigma: what lies further is even
// Of the derivatives, in the order of the unknowns.
constexpr LimbUnknowns kSteps = {0.1, 0.1, 0.1, 0.05, 0.02, 0.02, 0.05, 0.01};
constexpr std::size_t kSectors = 24;
constexpr int kFine = 4;            // samples a side of a pixel near the limb
constexpr double kNearLimb = 0.35;  // by the cosine at the observer

// By Minnaert's law, and how it changes with k.
struct Light {
  float value = 0;
  float by_darkening = 0;

  void add(const Light& other, float share) {
    value += share * other.value;
    by_darkening += share * other.by_darkening;
  }
};

Light light_of(const GlobeView::Seen& seen, double darkening) {
  const double value = minnaert(seen.cos_sun, seen.cos_observer, darkening);
  if (value <= 0) return {};
  return {static_cast<float>(value),
          static_cast<float>(value * minnaert_slope(seen.cos_sun, seen.cos_observer))};
}

// The mean of samples within the pixel where the globe ends in it or near it.
Light light_of_pixel(const GlobeView& view, int x, int y, double darkening) {
  const auto middle = view.seen_at(x, y);
  if (middle && middle->cos_observer > kNearLimb) return light_of(*middle, darkening);
  Light sum;
  for (int j = 0; j < kFine; ++j) {
    for (int i = 0; i < kFine; ++i) {
      const auto seen = view.seen_at(x + (i + 0.5) / kFine - 0.5, y + (j + 0.5) / kFine - 0.5);
      if (seen) sum.add(light_of(*seen, darkening), 1.0F / (kFine * kFine));
    }
  }
  return sum;
}

double blur_of(const LimbUnknowns& u) { return std::exp(u[limb_blur]); }

double halo_of(const LimbUnknowns& u) { return std::exp(u[limb_blur] + u[halo_width]); }

// A picture with `step` times a change at each pixel; its border stays.
template <class Change>
Plane changed(const Plane& from, double step, const Change& change_at) {
  Plane out = Plane::copy_of(from.view());
  parallel_for(from.height() - 2, [&](std::int64_t line) {
    const int y = static_cast<int>(line) + 1;
    for (int x = 1; x + 1 < from.width(); ++x)
      out.row(y)[x] += static_cast<float>(step * change_at(x, y));
  });
  return out;
}

}  // namespace

LimbModel::LimbModel(PlaneView picture, const GlobeShape& shape, const GlobePlace& start,
                     double blur_px)
    : picture_(picture), shape_(shape), start_(start) {
  const int reach = static_cast<int>(1.3 * start.radius_px) + 8;
  const int cx = static_cast<int>(std::lround(start.x_px));
  const int cy = static_cast<int>(std::lround(start.y_px));
  box_ = {std::max(cx - reach, 0), std::max(cy - reach, 0),
          std::min(cx + reach + 1, picture.width_px), std::min(cy + reach + 1, picture.height_px)};
  collect(blur_px);
}

GlobePlace LimbModel::scaled(double factor) const {
  GlobePlace out = start_;
  out.radius_px *= factor;
  return out;
}

// Of the whole picture, since rings fill the surroundings of the globe.
double LimbModel::sky_beside_rings() const {
  const GlobeView view(shape_, start_);
  const GlobeView outer(shape_, scaled(1 + kBesideLimb));
  double sum = 0;
  int n = 0;
  for (int y = 0; y < picture_.height_px; ++y) {
    for (int x = 0; x < picture_.width_px; ++x) {
      if (outer.holds(x, y) || !is_beside_rings(view, x, y, kBesideLimb)) continue;
      sum += static_cast<double>(picture_.at(x, y));
      ++n;
    }
  }
  return n > 0 ? sum / n : 0;
}

void LimbModel::collect(double blur_px) {
  const GlobeView outer(shape_, scaled(1 + kBesideLimb));
  const GlobeView inner(shape_, scaled(1 - kBesideLimb));
  const Plane rings = distance_from_rings(GlobeView(shape_, start_), box_);
  const double margin_px = std::min(1 + kRingBlurs * blur_px, kBesideLimb * start_.radius_px);
  double dark = 0;
  double bright = 0;
  int n_dark = 0;
  int n_bright = 0;
  for (int y = box_.y0; y < box_.y1; ++y) {
    for (int x = box_.x0; x < box_.x1; ++x) {
      if (!rings.empty() && static_cast<double>(rings.row(y - box_.y0)[x - box_.x0]) < margin_px)
        continue;
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
  double sky = n_dark > 0 ? dark / n_dark : 0;
  if (shape_.is_ringed()) sky = sky_beside_rings();
  for (Sample& sample : samples_) sample.light -= sky;
  brightness_ = n_bright > 0 ? bright / n_bright - sky : 0;
}

GlobePlace LimbModel::place(const LimbUnknowns& unknowns) const {
  GlobePlace out = start_;
  out.x_px = unknowns[0];
  out.y_px = unknowns[1];
  out.radius_px = unknowns[2];
  out.pole_clockwise_rad = unknowns[limb_pole];
  return out;
}

LimbModel::Drawing LimbModel::drawn(const LimbUnknowns& unknowns) const {
  const GlobeView view(shape_, place(unknowns));
  // What lies further in reaches no sample by the blur.
  const double reach = std::max(kBlurReach * blur_of(unknowns), kHaloReach * halo_of(unknowns));
  const double unseen = 1 - kBesideLimb - (reach + 3) / start_.radius_px;
  const GlobeView inner(shape_, scaled(std::max(unseen, 0.01)));
  GlobePlace beyond = place(unknowns);
  beyond.radius_px += 2;
  const GlobeView outer(shape_, beyond);
  Drawing drawing{Plane(box_.width_px(), box_.height_px()),
                  Plane(box_.width_px(), box_.height_px())};
  parallel_for(drawing.light.height(), [&](std::int64_t line) {
    const int y = box_.y0 + static_cast<int>(line);
    for (int x = box_.x0; x < box_.x1; ++x) {
      if (!outer.holds(x, y) || (unseen > 0 && inner.holds(x, y))) continue;
      const Light light = light_of_pixel(view, x, y, unknowns[limb_darkening]);
      drawing.light.row(static_cast<int>(line))[x - box_.x0] = light.value;
      drawing.by_darkening.row(static_cast<int>(line))[x - box_.x0] = light.by_darkening;
    }
  });
  return drawing;
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
  const Plane sharp = drawn(u).light;
  return misfits(mixed(blurred(sharp, blur_of(u)), blurred(sharp, halo_of(u)), u[halo_share]));
}

std::vector<std::vector<double>> LimbModel::slopes(const LimbUnknowns& u) const {
  const Drawing drawing = drawn(u);
  const Plane core = blurred(drawing.light, blur_of(u));
  const Plane halo = blurred(drawing.light, halo_of(u));
  const double share = u[halo_share];
  const Plane now = mixed(core, halo, share);
  const Plane darker = mixed(blurred(drawing.by_darkening, blur_of(u)),
                             blurred(drawing.by_darkening, halo_of(u)), share);
  const std::vector<double> base = misfits(now);
  std::vector<std::vector<double>> out(u.size());
  const auto compare = [&](LimbUnknown unknown, const auto& change_at) {
    const double step = kSteps[unknown];
    out[unknown] = misfits(changed(now, step, change_at));
    for (std::size_t k = 0; k < base.size(); ++k)
      out[unknown][k] = (out[unknown][k] - base[k]) / step;
  };
  const auto core_spreads = [&](int x, int y) {
    return (1 - share) * spreading_at(core, x, y, blur_of(u));
  };
  const auto halo_spreads = [&](int x, int y) {
    return share * spreading_at(halo, x, y, halo_of(u));
  };
  compare(limb_x, [&](int x, int y) { return -gradient_at(now, x, y).x; });
  compare(limb_y, [&](int x, int y) { return -gradient_at(now, x, y).y; });
  // The globe grows away from its centre, and so does its picture.
  compare(limb_radius, [&](int x, int y) {
    const Gradient gradient = gradient_at(now, x, y);
    return -((x + box_.x0 - u[limb_x]) * gradient.x + (y + box_.y0 - u[limb_y]) * gradient.y) /
           u[limb_radius];
  });
  compare(limb_pole, [&](int x, int y) {
    const Gradient gradient = gradient_at(now, x, y);
    return (y + box_.y0 - u[limb_y]) * gradient.x - (x + box_.x0 - u[limb_x]) * gradient.y;
  });
  compare(limb_blur, [&](int x, int y) { return core_spreads(x, y) + halo_spreads(x, y); });
  compare(halo_width, halo_spreads);
  compare(halo_share,
          [&](int x, int y) { return static_cast<double>(halo.row(y)[x] - core.row(y)[x]); });
  compare(limb_darkening, [&](int x, int y) { return static_cast<double>(darker.row(y)[x]); });
  return out;
}

}  // namespace lull::globe
