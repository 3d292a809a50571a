#include "spectrum/frc.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/assert.h"

namespace lull::spectrum {

namespace {

constexpr double kOneSeventh = 1.0 / 7.0;
constexpr int kPxPerRing = 4;
constexpr int kMostRings = 100;
constexpr int kSectors = 8;

// The taper correlates neighbouring bins: fewer are independent, by the ratio of the window's
// mean square squared to its mean fourth power (for this taper about 0.7 along each side).
constexpr double kIndependentShare = 0.5;

double correlation_of(const RingSums& ring) {
  const double norm = std::sqrt(ring.first * ring.second);
  return norm > 0 ? ring.cross / norm : 0;
}

// What pictures of pure noise hardly ever reach in a ring of so many complex values: three
// standard deviations of the correlation, 3 / sqrt(2 n) (the 3-sigma curve, van Heel 1987,
// Ultramicroscopy 21, 95, from memory).
double chance(double samples) { return 3.0 / std::sqrt(2 * std::max(samples, 1.0)); }

// First crossing below a threshold that depends on the ring, linear between ring centres. The first
// rings hold shading and few samples: they are ignored.
template <class Threshold>
std::optional<double> crossing(const std::vector<FrcCurve::Ring>& rings,
                               const Threshold& threshold) {
  bool above = false;
  for (std::size_t i = 1; i < rings.size(); ++i) {
    const double over = rings[i].correlation - threshold(rings[i]);
    if (over >= 0) {
      above = true;
      continue;
    }
    if (!above) {
      if (i >= 3) return std::nullopt;
      continue;
    }
    const double before = rings[i - 1].correlation - threshold(rings[i - 1]);
    const double share = before > 0 ? before / (before - over) : 0;
    return rings[i - 1].frequency + share * (rings[i].frequency - rings[i - 1].frequency);
  }
  if (!above) return std::nullopt;
  return rings.back().frequency;
}

}  // namespace

double half_bit_threshold(double samples) {
  const double root = std::sqrt(std::max(samples, 1.0));
  return (0.2071 + 1.9102 / root) / (1.2071 + 0.9102 / root);
}

double resolution_threshold(double samples) { return std::max(kOneSeventh, chance(samples)); }

std::optional<double> FrcCurve::resolution() const {
  return crossing(rings, [](const Ring& ring) { return resolution_threshold(ring.samples); });
}

std::optional<double> FrcCurve::half_bit_resolution() const {
  return crossing(rings, [](const Ring& ring) { return half_bit_threshold(ring.samples); });
}

double FrcCurve::information_bits() const {
  double bits = 0;
  for (const Ring& ring : rings) {
    if (ring.correlation <= chance(ring.samples)) continue;
    const double f = std::min(ring.correlation, 0.99999);
    bits += std::log2(1 + 2 * f / (1 - f));
  }
  return rings.empty() ? 0 : bits / static_cast<double>(rings.size());
}

FrcCurve fourier_ring_correlation(PlaneView first, PlaneView second) {
  FrcSums sums;
  sums.add(first, second);
  return sums.curve();
}

FrcCurve mean_sector_correlation(PlaneView first, PlaneView second) {
  const auto sectors = sector_sums(first, second, kSectors, kPxPerRing, kMostRings);
  FrcCurve curve;
  for (std::size_t i = 0; i < sectors.front().size(); ++i) {
    double bins = 0;
    double sum = 0;
    for (const std::vector<RingSums>& sector : sectors) {
      bins += sector[i].bins;
      sum += sector[i].bins * correlation_of(sector[i]);
    }
    curve.rings.push_back(
        {sectors.front()[i].frequency, bins > 0 ? sum / bins : 0, kIndependentShare * bins / 2});
  }
  return curve;
}

void FrcSums::add(PlaneView first, PlaneView second) {
  std::vector<RingSums> rings = ring_sums(first, second, kPxPerRing, kMostRings);
  if (rings_.empty()) {
    rings_ = std::move(rings);
    return;
  }
  LULL_ASSERT(rings.size() == rings_.size());
  for (std::size_t i = 0; i < rings.size(); ++i) {
    rings_[i].cross += rings[i].cross;
    rings_[i].first += rings[i].first;
    rings_[i].second += rings[i].second;
    rings_[i].bins += rings[i].bins;
  }
}

FrcCurve FrcSums::curve() const {
  FrcCurve curve;
  for (const RingSums& ring : rings_) {
    curve.rings.push_back(
        {ring.frequency, correlation_of(ring), kIndependentShare * ring.bins / 2});
  }
  return curve;
}

}  // namespace lull::spectrum
