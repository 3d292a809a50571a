#include "stack/channel_offset.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "align/field_kernels.h"
#include "align/padded_frame.h"
#include "spectrum/fft.h"

namespace lull::stack {

namespace {

using spectrum::Spectrum;

constexpr double kPi = std::numbers::pi;
constexpr int kIterations = 12;
constexpr int kFirstRounds = 4;     // with the slowest third of the rings: no phase wraps there
constexpr double kLeastCycles = 2;  // in the window: slower is shading, which colours do not share
constexpr double kTaper = 0.5;
constexpr double kFurthestPx = 6;
constexpr double kStepPx = 1;
constexpr double kMostBesidePx = 0.1;  // off the line of dispersion

// One ring of the cross spectrum, on the channel as moved until now.
struct Ring {
  double cross = 0;
  double reference = 0;
  double error = 0;
  double bins = 0;
};

class OffsetFinder {
 public:
  OffsetFinder(PlaneView reference, PlaneView channel, double highest)
      : size_(reference.size()),
        highest_(highest),
        fft_(size_),
        across_(spectrum::tukey_window(size_.width_px, kTaper)),
        down_(spectrum::tukey_window(size_.height_px, kTaper)),
        rings_(static_cast<std::size_t>(
            std::clamp(std::min(size_.width_px, size_.height_px) / 4, 8, 48))) {
    padded_.assign(channel);
    reference_ = spectrum::windowed_spectrum(reference, across_, down_, fft_);
  }

  Displacement run() {
    Displacement offset;
    for (int i = 0; i < kIterations; ++i) {
      const Displacement step = improve(offset, i < kFirstRounds ? rings_ / 3 : rings_);
      offset = offset + step;
      if (!(std::hypot(offset.x_px, offset.y_px) < kFurthestPx)) return {};
      if (i > kFirstRounds && std::hypot(step.x_px, step.y_px) < 1e-4) break;
    }
    return offset;
  }

 private:
  // The channel with its detail moved back by the offset.
  [[nodiscard]] Plane moved(Displacement offset) const {
    Plane out(size_);
    const auto count = static_cast<std::size_t>(size_.width_px);
    std::vector<float> px(count);
    std::vector<float> py(count);
    for (int y = 0; y < size_.height_px; ++y) {
      for (std::size_t x = 0; x < count; ++x) {
        px[x] = static_cast<float>(static_cast<double>(x) + offset.x_px);
        py[x] = static_cast<float>(y + offset.y_px);
      }
      align::kernels::sample_cubic()(padded_.origin(), padded_.stride_elems(), px.data(), py.data(),
                                     size_.width_px, static_cast<float>(size_.width_px),
                                     static_cast<float>(size_.height_px), out.row(y));
    }
    return out;
  }

  // Calls body(ring, column, row) for the bins that count.
  template <class Body>
  void for_bins(std::size_t rings, const Body& body) const {
    for (int r = 0; r < reference_.rows(); ++r) {
      for (int c = 0; c < reference_.columns(); ++c) {
        const double fx = reference_.frequency_x(c);
        const double fy = reference_.frequency_y(r);
        const auto ring =
            static_cast<std::size_t>(std::hypot(fx, fy) / highest_ * static_cast<double>(rings_));
        if (ring >= rings || std::hypot(fx * size_.width_px, fy * size_.height_px) < kLeastCycles) {
          continue;
        }
        body(ring, c, r);
      }
    }
  }

  // A Gauss-Newton step on the phases: channel ~ a exp(-2 pi i f.step) reference in each ring.
  Displacement improve(Displacement offset, std::size_t rings) {
    const Spectrum channel =
        spectrum::windowed_spectrum(moved(offset).view(), across_, down_, fft_);
    std::vector<Ring> sums(rings);
    for_bins(rings, [&](std::size_t k, int c, int r) {
      const auto t = std::complex<double>(reference_.row(r)[c]);
      const auto v = std::complex<double>(channel.row(r)[c]);
      const double m = reference_.multiplicity(c);
      sums[k].cross += m * (v * std::conj(t)).real();
      sums[k].reference += m * std::norm(t);
      sums[k].bins += m;
    });
    const auto share = [&](std::size_t k) {
      return sums[k].reference > 0 ? std::max(sums[k].cross / sums[k].reference, 0.0) : 0.0;
    };
    for_bins(rings, [&](std::size_t k, int c, int r) {
      const auto t = std::complex<double>(reference_.row(r)[c]);
      const auto v = std::complex<double>(channel.row(r)[c]);
      sums[k].error += reference_.multiplicity(c) * std::norm(v - share(k) * t);
    });
    double xx = 0;
    double xy = 0;
    double yy = 0;
    double bx = 0;
    double by = 0;
    for_bins(rings, [&](std::size_t k, int c, int r) {
      const double a = share(k);
      if (a <= 0) return;
      const auto t = std::complex<double>(reference_.row(r)[c]);
      const auto v = std::complex<double>(channel.row(r)[c]);
      // A floor keeps rings that agree to rounding from deciding alone.
      const double noise =
          sums[k].error / sums[k].bins + 1e-4 * a * a * sums[k].reference / sums[k].bins + 1e-300;
      const double weight = reference_.multiplicity(c) * a / noise;
      const double kx = 2 * kPi * reference_.frequency_x(c);
      const double ky = 2 * kPi * reference_.frequency_y(r);
      const double slope = weight * (v * std::conj(t)).imag();
      const double power = weight * a * std::norm(t);
      xx += power * kx * kx;
      xy += power * kx * ky;
      yy += power * ky * ky;
      bx -= slope * kx;
      by -= slope * ky;
    });
    const double determinant = xx * yy - xy * xy;
    if (!(determinant > 0)) return {};
    return {std::clamp((yy * bx - xy * by) / determinant, -kStepPx, kStepPx),
            std::clamp((xx * by - xy * bx) / determinant, -kStepPx, kStepPx)};
  }

  Size size_;
  double highest_;  // cycles/px
  spectrum::Fft fft_;
  std::vector<float> across_;
  std::vector<float> down_;
  std::size_t rings_;
  align::PaddedFrame padded_;
  Spectrum reference_;
};

}  // namespace

Displacement channel_offset(PlaneView reference, PlaneView channel, double highest) {
  return OffsetFinder(reference, channel, highest).run();
}

void make_collinear(Displacement& red, Displacement& blue) {
  // Direction of the principal axis of the two.
  const double xx = red.x_px * red.x_px + blue.x_px * blue.x_px;
  const double yy = red.y_px * red.y_px + blue.y_px * blue.y_px;
  const double xy = red.x_px * red.y_px + blue.x_px * blue.y_px;
  const double angle = 0.5 * std::atan2(2 * xy, xx - yy);
  const double c = std::cos(angle);
  const double s = std::sin(angle);
  const auto beside = [&](const Displacement& v) { return std::abs(-s * v.x_px + c * v.y_px); };
  if (std::max(beside(red), beside(blue)) > kMostBesidePx) return;
  for (Displacement* v : {&red, &blue}) {
    const double along = c * v->x_px + s * v->y_px;
    *v = {along * c, along * s};
  }
}

}  // namespace lull::stack
