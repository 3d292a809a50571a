#include "finish/strength.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/statistics.h"

namespace lull::finish {

namespace {

constexpr double kLost = 0.05;  // correlation, beyond the resolution, from which on nothing passes
constexpr double kLeastTransfer = 0.02;
constexpr double kCoarsest = 1e-3;  // cycles/px, of the steps of a curve's filter
constexpr double kFinest = 0.7072;  // along the diagonal
constexpr int kSteps = 256;

double frequency_of(int step) {
  return kCoarsest * std::pow(kFinest / kCoarsest, step / (kSteps - 1.0));
}

}  // namespace

Transfer gaussian_transfer(double fwhm_px) {
  const double sigma_px = fwhm_px / (2 * std::sqrt(2 * std::numbers::ln2));
  return [sigma_px](double frequency) {
    const double u = std::numbers::pi * sigma_px * frequency;
    return std::exp(-2 * u * u);
  };
}

std::vector<spectrum::FilterPoint> wiener_weight(const spectrum::FrcCurve& frc) {
  const std::optional<double> resolution = frc.resolution();
  if (!resolution) return {{0, 0}};
  std::vector<spectrum::FilterPoint> points = {{0, 1}};
  bool lost = false;
  for (const auto& ring : frc.rings) {
    lost = lost || (ring.frequency > *resolution && ring.correlation < kLost);
    points.push_back(
        {ring.frequency, lost ? 0 : reliability_of_whole(std::min(ring.correlation, 1.0))});
  }
  return points;
}

std::vector<spectrum::FilterPoint> wiener_filter(const spectrum::FrcCurve& frc,
                                                 const Transfer& transfer, double restraint) {
  if (!frc.resolution()) return {{0, 1}};
  std::vector<spectrum::FilterPoint> points = wiener_weight(frc);
  for (spectrum::FilterPoint& point : points) {
    const double allowed = 1 - restraint * (1 - point.gain);
    point.gain = allowed / std::max(transfer(point.frequency), kLeastTransfer);
  }
  return points;
}

std::vector<spectrum::FilterPoint> curve_filter(const spectrum::FrcCurve& frc,
                                                const DetailCurve& curve, double restraint) {
  const std::vector<spectrum::FilterPoint> certain = wiener_weight(frc);
  std::vector<spectrum::FilterPoint> points = {{0, 1}};
  for (int i = 0; i < kSteps; ++i) {
    const double frequency = frequency_of(i);
    const double asked = curve.gain(0.5 / frequency);
    const double allowed =
        asked > 1 ? 1 - restraint * (1 - gain_at(certain, frequency)) : 1;  // weakening is safe
    points.push_back({frequency, 1 + (asked - 1) * allowed});
  }
  return points;
}

std::vector<spectrum::FilterPoint> weight_beyond(const spectrum::FrcCurve& place,
                                                 const spectrum::FrcCurve& whole) {
  spectrum::FrcCurve low = place;
  for (auto& ring : low.rings) {
    const double share = 1 - ring.correlation * ring.correlation;
    ring.correlation -= share / std::sqrt(2 * std::max(ring.samples, 1.0));
  }
  const std::vector<spectrum::FilterPoint> own = wiener_weight(low);
  std::vector<spectrum::FilterPoint> points = wiener_weight(whole);
  double most = 0;
  for (spectrum::FilterPoint& point : points) {
    // What is coarser than its first ring the place says nothing of.
    const bool known = !low.rings.empty() && point.frequency >= low.rings.front().frequency;
    const double more = known ? gain_at(own, point.frequency) - point.gain : 0;
    most = std::max(most, point.gain = std::max(more, 0.0));
  }
  if (!(most > 0)) return {};
  return points;
}

std::vector<spectrum::FilterPoint> wiener_beyond(std::vector<spectrum::FilterPoint> beyond,
                                                 const Transfer& transfer, double restraint) {
  for (spectrum::FilterPoint& point : beyond)
    point.gain *= restraint / std::max(transfer(point.frequency), kLeastTransfer);
  return beyond;
}

std::vector<spectrum::FilterPoint> curve_beyond(const std::vector<spectrum::FilterPoint>& beyond,
                                                const DetailCurve& curve, double restraint) {
  std::vector<spectrum::FilterPoint> points = {{0, 0}};
  for (int i = 0; i < kSteps; ++i) {
    const double frequency = frequency_of(i);
    const double asked = std::max(curve.gain(0.5 / frequency) - 1, 0.0);
    points.push_back({frequency, restraint * asked * gain_at(beyond, frequency)});
  }
  return points;
}

}  // namespace lull::finish
