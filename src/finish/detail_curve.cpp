#include "finish/detail_curve.h"

#include <algorithm>
#include <cmath>

#include "core/assert.h"

namespace lull::finish {

namespace {

constexpr double kOctavesToOne = 2;

// Slope at a knot between two pieces of widths and slopes h, d: their weighted harmonic mean, 0
// where the curve turns.
double slope_between(double h0, double d0, double h1, double d1) {
  if (d0 * d1 <= 0) return 0;
  const double w0 = 2 * h1 + h0;
  const double w1 = h1 + 2 * h0;
  return (w0 + w1) / (w0 / d0 + w1 / d1);
}

}  // namespace

DetailCurve::DetailCurve(const std::vector<DetailPoint>& points) {
  LULL_ASSERT(!points.empty());
  for (const DetailPoint& point : points)
    knots_.push_back({std::log2(point.size_px), point.gain, 0});
  knots_.push_back({knots_.back().place + kOctavesToOne, 1, 0});
  for (std::size_t i = 1; i + 1 < knots_.size(); ++i) {
    const double h0 = knots_[i].place - knots_[i - 1].place;
    const double h1 = knots_[i + 1].place - knots_[i].place;
    LULL_ASSERT(h0 > 0 && h1 > 0);
    knots_[i].slope = slope_between(h0, (knots_[i].gain - knots_[i - 1].gain) / h0, h1,
                                    (knots_[i + 1].gain - knots_[i].gain) / h1);
  }
}

double DetailCurve::gain(double size_px) const {
  const double place = std::log2(size_px);
  if (!(place > knots_.front().place)) return knots_.front().gain;
  if (place >= knots_.back().place) return knots_.back().gain;
  const auto next = std::upper_bound(knots_.begin(), knots_.end(), place,
                                     [](double at, const Knot& knot) { return at < knot.place; });
  const Knot& b = *next;
  const Knot& a = *(next - 1);
  const double h = b.place - a.place;
  const double t = (place - a.place) / h;
  // The cubic Hermite basis.
  return a.gain * (1 + 2 * t) * (1 - t) * (1 - t) + a.slope * h * t * (1 - t) * (1 - t) +
         b.gain * t * t * (3 - 2 * t) + b.slope * h * t * t * (t - 1);
}

}  // namespace lull::finish
