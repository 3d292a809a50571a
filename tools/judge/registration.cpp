#include "judge/registration.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "judge/rings.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr double kFineSigma = 1.5;
constexpr double kCoarseSigma = 14;
constexpr int kRimPx = 6;
constexpr int kMostRounds = 15;
constexpr double kSmallestStepPx = 1e-4;

/// Detail without brightness; the rim, where the mirrored border shows, is zero.
Image detail_of(const Image& image) {
  Image detail = difference(gaussian_blur(image, kFineSigma), gaussian_blur(image, kCoarseSigma));
  for (int y = 0; y < detail.height_px; ++y) {
    for (int x = 0; x < detail.width_px; ++x) {
      const int from_edge = std::min({x, y, detail.width_px - 1 - x, detail.height_px - 1 - y});
      if (from_edge < kRimPx) detail.at(x, y) = 0;
    }
  }
  return detail;
}

/// Correlation over the energy of both pictures where they overlap.
Image normalised(const Image& correlation, const Image& energy_a, const Image& energy_b) {
  const double most_a = std::max(range_of(energy_a).highest, 1e-300);
  const double most_b = std::max(range_of(energy_b).highest, 1e-300);
  Image result(correlation.size());
  for (std::size_t i = 0; i < result.count(); ++i) {
    const double a = energy_a.samples[i] / most_a;
    const double b = energy_b.samples[i] / most_b;
    const double overlap = std::sqrt(std::clamp(a, 0.0, 1.0)) * std::sqrt(std::clamp(b, 0.0, 1.0));
    result.samples[i] = correlation.samples[i] * overlap /
                        std::sqrt(std::max(a, 1e-3) * most_a * std::max(b, 1e-3) * most_b);
  }
  return result;
}

/// Bins inside the cutoff: their frequencies (radians/px) and ring.
struct Bin {
  std::size_t index = 0;
  std::size_t ring = 0;
  double kx = 0;
  double ky = 0;
};

std::vector<Bin> bins_inside(const Rings& rings, Size size) {
  std::vector<Bin> bins;
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      const auto index = static_cast<std::size_t>(y) * static_cast<std::size_t>(size.width_px) +
                         static_cast<std::size_t>(x);
      if (rings.ring[index] >= rings.rings_to_cutoff) continue;
      bins.push_back({index, static_cast<std::size_t>(rings.ring[index]),
                      2 * std::numbers::pi * fourier_frequency(x, size.width_px),
                      2 * std::numbers::pi * fourier_frequency(y, size.height_px)});
    }
  }
  return bins;
}

using Spectrum = std::vector<std::complex<double>>;

/// Of each ring: gain of the picture against the truth, and 1 / noise where the ring is used.
struct RingWeights {
  std::vector<double> gain;
  std::vector<double> weight;  ///< gain / noise power
};

RingWeights weigh_rings(const std::vector<Bin>& bins, const Spectrum& picture,
                        const Spectrum& scene, std::size_t ring_count, std::size_t rings_used) {
  std::vector<double> count(ring_count);
  std::vector<double> power(ring_count);
  std::vector<double> common(ring_count);
  std::vector<double> noise(ring_count);
  for (const Bin& bin : bins) {
    count[bin.ring] += 1;
    power[bin.ring] += std::norm(scene[bin.index]);
    common[bin.ring] += (picture[bin.index] * std::conj(scene[bin.index])).real();
  }
  RingWeights result = {std::vector<double>(ring_count), std::vector<double>(ring_count)};
  for (std::size_t i = 0; i < ring_count; ++i) {
    result.gain[i] = std::max(common[i] / std::max(power[i], 1e-300), 0.0);
  }
  for (const Bin& bin : bins) {
    noise[bin.ring] += std::norm(picture[bin.index] - result.gain[bin.ring] * scene[bin.index]);
  }
  for (std::size_t i = 0; i < rings_used; ++i) {
    const double gain = result.gain[i];
    const double bins_in_ring = std::max(count[i], 1.0);
    const double floor = 1e-4 * gain * gain * power[i] / bins_in_ring + 1e-300;
    result.weight[i] = gain / (noise[i] / bins_in_ring + floor);
  }
  return result;
}

/// One step of Gauss and Newton on the phases.
Displacement phase_step(const std::vector<Bin>& bins, const Spectrum& picture,
                        const Spectrum& scene, const RingWeights& rings) {
  double xx = 0;
  double xy = 0;
  double yy = 0;
  double x = 0;
  double y = 0;
  for (const Bin& bin : bins) {
    const double weight = rings.weight[bin.ring];
    const double slope = weight * (picture[bin.index] * std::conj(scene[bin.index])).imag();
    const double curvature = weight * rings.gain[bin.ring] * std::norm(scene[bin.index]);
    x += slope * bin.kx;
    y += slope * bin.ky;
    xx += curvature * bin.kx * bin.kx;
    xy += curvature * bin.kx * bin.ky;
    yy += curvature * bin.ky * bin.ky;
  }
  const double ridge = 1e-12 * (xx + yy);
  xx += ridge;
  yy += ridge;
  const double determinant = xx * yy - xy * xy;
  if (!(determinant > 0)) return {};  // no common detail at all: stay
  return {-(yy * x - xy * y) / determinant, -(xx * y - xy * x) / determinant};
}

}  // namespace

CoarseMatch find_coarse(const Image& picture, const Image& scene) {
  const Image a = detail_of(picture);
  const Image b = detail_of(scene);
  const Size size = {fast_length(a.width_px + b.width_px), fast_length(a.height_px + b.height_px)};
  const Image match =
      normalised(correlate(a, b, size), correlate(product(a, a), Image(b.size(), 1), size),
                 correlate(Image(a.size(), 1), product(b, b), size));
  const auto best = std::max_element(match.samples.begin(), match.samples.end());
  const auto place = static_cast<int>(best - match.samples.begin());
  const int x = place % size.width_px;
  const int y = place / size.width_px;
  return {{static_cast<double>(x > size.width_px / 2 ? x - size.width_px : x),
           static_cast<double>(y > size.height_px / 2 ? y - size.height_px : y)},
          *best};
}

Displacement refine_shift(const Truth& truth, const Spline& spline, const Image& picture,
                          Displacement start, const Box& box, double cutoff) {
  const Size size = {box.width_px(), box.height_px()};
  const Image window = tukey_window(size, 0.4);
  const Spectrum seen = fourier(windowed(crop(picture, box), window));
  const int count = ring_count(std::min(size.width_px, size.height_px) * cutoff / 2, 8, 40);
  const auto rings = static_cast<std::size_t>(count);
  const std::vector<Bin> bins =
      bins_inside(rings_of(size, cutoff, count, Transform::fourier), size);
  Displacement shift = start;
  for (int round = 0; round < kMostRounds; ++round) {
    const Spectrum scene = fourier(windowed(truth.seen(spline, box, shift), window));
    // The first rounds may start up to a pixel off: low rings only, then all of them.
    const std::size_t used = round < 3 ? rings / 3 : rings;
    const Displacement step =
        phase_step(bins, seen, scene, weigh_rings(bins, seen, scene, rings, used));
    shift =
        shift + Displacement{std::clamp(step.x_px, -1.0, 1.0), std::clamp(step.y_px, -1.0, 1.0)};
    const double longest = std::max(std::abs(step.x_px), std::abs(step.y_px));
    if (round > 3 && longest < kSmallestStepPx) break;
  }
  return shift;
}

}  // namespace lull::judge
