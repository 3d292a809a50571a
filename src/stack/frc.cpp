#include "stack/frc.h"

#include <algorithm>
#include <cmath>

#include "align/fft.h"

namespace lull::stack {

namespace {

constexpr double kTaperShare = 0.5;
constexpr double kOneSeventh = 1.0 / 7.0;

// What pictures of pure noise hardly ever reach in a ring of so many complex values: three
// standard deviations of the correlation, 3 / sqrt(2 n) (the 3-sigma curve, van Heel 1987,
// Ultramicroscopy 21, 95, from memory).
double chance(double samples) { return 3.0 / std::sqrt(2 * std::max(samples, 1.0)); }

PlaneView middle(PlaneView plane, Size size) {
  const int x = (plane.width_px - size.width_px) / 2;
  const int y = (plane.height_px - size.height_px) / 2;
  return plane.crop({x, y, x + size.width_px, y + size.height_px});
}

align::Spectrum tapered_spectrum(PlaneView plane, align::Fft& fft) {
  return align::windowed_spectrum(plane, align::tukey_window(plane.width_px, kTaperShare),
                                  align::tukey_window(plane.height_px, kTaperShare), fft);
}

// First crossing below a threshold that depends on the ring, linear between ring middles. The
// first rings hold shading and few samples: they do not decide.
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
  LULL_ASSERT(first.size() == second.size());
  const Size size{align::fast_length_below(first.width_px),
                  align::fast_length_below(first.height_px)};
  align::Fft fft(size);
  const align::Spectrum a = tapered_spectrum(middle(first, size), fft);
  const align::Spectrum b = tapered_spectrum(middle(second, size), fft);
  const int count = std::clamp(std::min(size.width_px, size.height_px) / 4, 8, 100);

  struct Sums {
    double cross = 0, first = 0, second = 0, bins = 0;
  };

  std::vector<Sums> sums(static_cast<std::size_t>(count));
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.columns(); ++c) {
      const double f = std::hypot(a.frequency_y(r), a.frequency_x(c));
      const auto ring = static_cast<std::size_t>(f * 2 * count);
      if (ring >= sums.size()) continue;
      const double m = a.multiplicity(c);
      const std::complex<float> p = a.row(r)[c];
      const std::complex<float> q = b.row(r)[c];
      sums[ring].cross += m * static_cast<double>(p.real() * q.real() + p.imag() * q.imag());
      sums[ring].first += m * static_cast<double>(std::norm(p));
      sums[ring].second += m * static_cast<double>(std::norm(q));
      sums[ring].bins += m;
    }
  }
  // The taper correlates neighbouring bins: fewer are independent, by the ratio of the window's
  // mean square squared to its mean fourth power (for this taper about 0.7 along each side).
  constexpr double kIndependentShare = 0.5;
  FrcCurve curve;
  for (int i = 0; i < count; ++i) {
    const Sums& s = sums[static_cast<std::size_t>(i)];
    const double norm = std::sqrt(s.first * s.second);
    curve.rings.push_back(
        {(i + 0.5) / (2.0 * count), norm > 0 ? s.cross / norm : 0, kIndependentShare * s.bins / 2});
  }
  return curve;
}

}  // namespace lull::stack
