#include "align/find_shift.h"

#include <algorithm>
#include <cmath>

#include "align/spline_plane.h"

namespace lull::align {

namespace {

constexpr int kMargin = 1;  // px at the border that the fine step does not use
constexpr int kRamp = 3;    // px over which its weight rises
constexpr double kLongestStepPx = 0.75;

Plane smoothed(PlaneView in, double sigma_px) {
  const int radius = static_cast<int>(std::ceil(3 * sigma_px));
  std::vector<float> taps;
  double sum = 0;
  for (int i = -radius; i <= radius; ++i) sum += std::exp(-0.5 * i * i / (sigma_px * sigma_px));
  for (int i = -radius; i <= radius; ++i) {
    taps.push_back(static_cast<float>(std::exp(-0.5 * i * i / (sigma_px * sigma_px)) / sum));
  }
  const auto pass = [&](PlaneView from, int dx, int dy) {
    Plane out(from.size());
    for (int y = 0; y < from.height_px; ++y) {
      for (int x = 0; x < from.width_px; ++x) {
        float value = 0;
        for (int i = -radius; i <= radius; ++i) {
          const int fx = std::clamp(x + i * dx, 0, from.width_px - 1);
          const int fy = std::clamp(y + i * dy, 0, from.height_px - 1);
          value += taps[static_cast<std::size_t>(std::ptrdiff_t{i} + radius)] * from.row(fy)[fx];
        }
        out.row(y)[x] = value;
      }
    }
    return out;
  };
  const Plane across = pass(in, 1, 0);
  return pass(across.view(), 0, 1);
}

// Weight of a place at that distance from the patch's edge.
double edge_weight(int i, int length) {
  const double inside = std::min(i, length - 1 - i) - kMargin;
  const double t = std::clamp(inside / kRamp, 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

struct Normal {
  double xx = 0, xy = 0, yy = 0;

  [[nodiscard]] double determinant() const { return xx * yy - xy * xy; }
};

// Displacement d that makes frame(p + d) match reference(p), starting from d.
class Refiner {
 public:
  Refiner(PlaneView reference, PlaneView frame, double sigma_px)
      : reference_(smoothed(reference, sigma_px)),
        frame_(smoothed(frame, sigma_px).view()),
        sampled_(reference.size()) {
    for (int x = 0; x < reference.width_px; ++x) {
      across_.push_back(edge_weight(x, reference.width_px));
    }
  }

  // One Gauss-Newton step. @return false when there is nothing to solve.
  bool step(Displacement& d) {
    frame_.sample(d, sampled_.view());
    Sums s;
    for (int y = 1; y < reference_.height() - 1; ++y) add_row(y, d, s);
    if (s.w <= 0) return false;
    const Normal normal = {s.a.xx - s.gx * s.gx / s.w, s.a.xy - s.gx * s.gy / s.w,
                           s.a.yy - s.gy * s.gy / s.w};
    const double ex = s.ex - s.e * s.gx / s.w;
    const double ey = s.ey - s.e * s.gy / s.w;
    const double trace = normal.xx + normal.yy;
    const double determinant = normal.determinant();
    if (!(determinant > 1e-9 * trace * trace)) return false;
    d.x_px -= std::clamp((normal.yy * ex - normal.xy * ey) / determinant, -kLongestStepPx,
                         kLongestStepPx);
    d.y_px -= std::clamp((normal.xx * ey - normal.xy * ex) / determinant, -kLongestStepPx,
                         kLongestStepPx);
    return true;
  }

 private:
  struct Sums {
    double w = 0, e = 0, gx = 0, gy = 0, ex = 0, ey = 0;
    Normal a;
  };

  void add_row(int y, Displacement d, Sums& s) const {
    const int width = reference_.width();
    const double down = edge_weight(y, reference_.height());
    if (down == 0 || y + d.y_px < 0 || y + d.y_px > reference_.height() - 1) return;
    const auto row_sum = [&](int at, int x) {
      return static_cast<double>(reference_.row(at)[x] + sampled_.row(at)[x]);
    };
    for (int x = 1; x < width - 1; ++x) {
      if (x + d.x_px < 0 || x + d.x_px > width - 1) continue;
      const double weight = down * across_[static_cast<std::size_t>(x)];
      // The gradient of the mean of both patches: less noise than that of either.
      const double gx = 0.25 * (row_sum(y, x + 1) - row_sum(y, x - 1));
      const double gy = 0.25 * (row_sum(y + 1, x) - row_sum(y - 1, x));
      const double e = static_cast<double>(sampled_.row(y)[x] - reference_.row(y)[x]);
      s.w += weight;
      s.e += weight * e;
      s.gx += weight * gx;
      s.gy += weight * gy;
      s.ex += weight * e * gx;
      s.ey += weight * e * gy;
      s.a.xx += weight * gx * gx;
      s.a.xy += weight * gx * gy;
      s.a.yy += weight * gy * gy;
    }
  }

  Plane reference_;
  SplinePlane frame_;
  Plane sampled_;
  std::vector<double> across_;
};

struct Pass {
  double sigma_px;
  int steps;
};

}  // namespace

Outcome<Shift> find_shift(PlaneView reference, PlaneView frame, const FindShiftOptions& options,
                          FindShiftWorkspace& work) {
  LULL_ASSERT(reference.size() == frame.size() && reference.width_px >= 16 &&
              reference.height_px >= 16);
  const Size size = reference.size();
  if (!work.correlator || work.correlator->size() != size) work.correlator.emplace(size);
  work.correlator->transform(reference, work.reference);
  work.correlator->transform(frame, work.frame);
  const spectrum::CorrelationPeak peak = work.correlator->correlate(
      work.reference, work.frame, static_cast<int>(options.longest_share * size.width_px),
      static_cast<int>(options.longest_share * size.height_px));
  if (!(peak.over_rms >= options.least_peak)) return Reject::weak_peak;
  Displacement d = peak.at;
  for (const Pass pass : {Pass{1.5, 6}, Pass{0.65, 6}}) {
    Refiner refiner(reference, frame, pass.sigma_px);
    for (int i = 0; i < pass.steps; ++i) {
      if (!refiner.step(d)) return Reject::no_structure;
    }
  }
  return Shift{-d.x_px, -d.y_px};
}

}  // namespace lull::align
