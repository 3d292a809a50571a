#include "merge/detail.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "spectrum/radial_filter.h"

namespace lull::merge {

namespace {

constexpr int kCurvePoints = 400;
constexpr double kHighest = 0.71;  // cycles/px, in the corner of a spectrum
// Of the greatest variance in the picture: where there is less, the contrast stays.
constexpr double kLeastVariance = 1e-4;

double gaussian(double sigma_px, double frequency) {
  const double a = std::numbers::pi * sigma_px * frequency;
  return std::exp(-2 * a * a);
}

template <class Gain>
Plane through(PlaneView picture, const Gain& gain) {
  std::vector<spectrum::FilterPoint> curve;
  for (int i = 0; i <= kCurvePoints; ++i) {
    // Closer together at low frequencies, where wide blurs fall.
    const double share = static_cast<double>(i) / kCurvePoints;
    const double frequency = kHighest * share * share;
    curve.push_back({frequency, gain(frequency)});
  }
  return spectrum::filtered(picture, curve);
}

Plane product(PlaneView one, PlaneView other) {
  Plane out(one.size());
  for (int y = 0; y < one.height_px; ++y)
    for (int x = 0; x < one.width_px; ++x) out.row(y)[x] = one.row(y)[x] * other.row(y)[x];
  return out;
}

// a - b c, sample by sample, into a.
void subtract_product(Plane& a, const Plane& b, const Plane& c) {
  for (int y = 0; y < a.height(); ++y)
    for (int x = 0; x < a.width(); ++x) a.row(y)[x] -= b.row(y)[x] * c.row(y)[x];
}

float greatest(const Plane& plane) {
  float most = 0;
  for (int y = 0; y < plane.height(); ++y)
    most = std::max(most, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  return most;
}

}  // namespace

Plane detail_of(PlaneView picture, double fine_px, double coarse_px) {
  return through(picture, [&](double frequency) {
    return gaussian(fine_px, frequency) - gaussian(coarse_px, frequency);
  });
}

Plane blurred(PlaneView picture, double sigma_px) {
  return through(picture, [&](double frequency) { return gaussian(sigma_px, frequency); });
}

Plane with_contrast_of(PlaneView reference, PlaneView picture, double window_px) {
  const Plane mean = blurred(picture, window_px);
  const Plane wanted = blurred(reference, window_px);
  Plane variance = blurred(product(picture, picture).view(), window_px);
  subtract_product(variance, mean, mean);
  Plane factor = blurred(product(picture, reference).view(), window_px);
  subtract_product(factor, mean, wanted);
  const float floor = static_cast<float>(kLeastVariance) * greatest(variance) + 1e-30F;
  for (int y = 0; y < factor.height(); ++y) {
    for (int x = 0; x < factor.width(); ++x)
      factor.row(y)[x] = (factor.row(y)[x] + floor) / (std::max(variance.row(y)[x], 0.0F) + floor);
  }
  Plane out(picture.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      out.row(y)[x] = wanted.row(y)[x] + factor.row(y)[x] * (picture.row(y)[x] - mean.row(y)[x]);
    }
  }
  return out;
}

}  // namespace lull::merge
