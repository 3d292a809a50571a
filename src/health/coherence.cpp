#include "health/coherence.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull::health {

namespace {

constexpr double kStep = 0.05;  // of q, from 0, where the coherence is 1
constexpr std::size_t kSteps = 12;

constexpr std::array<double, 14> kTurbulence = {1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12, 15};

constexpr std::array<std::array<double, kSteps>, kTurbulence.size()> kCoherence = {{
    {1.0000, 0.9998, 0.9991, 0.9970, 0.9928, 0.9846, 0.9728, 0.9568, 0.9417, 0.9331, 0.9287,
     0.9269},
    {0.9999, 0.9992, 0.9969, 0.9905, 0.9787, 0.9583, 0.9317, 0.8990, 0.8694, 0.8525, 0.8437,
     0.8405},
    {0.9998, 0.9981, 0.9924, 0.9774, 0.9517, 0.9110, 0.8632, 0.8102, 0.7645, 0.7385, 0.7251,
     0.7209},
    {0.9995, 0.9960, 0.9845, 0.9551, 0.9073, 0.8381, 0.7647, 0.6917, 0.6325, 0.5992, 0.5826,
     0.5782},
    {0.9992, 0.9928, 0.9723, 0.9211, 0.8425, 0.7391, 0.6411, 0.5538, 0.4878, 0.4515, 0.4342,
     0.4303},
    {0.9986, 0.9882, 0.9547, 0.8735, 0.7572, 0.6200, 0.5048, 0.4134, 0.3493, 0.3151, 0.2993,
     0.2965},
    {0.9979, 0.9819, 0.9309, 0.8115, 0.6550, 0.4922, 0.3723, 0.2876, 0.2324, 0.2041, 0.1914,
     0.1895},
    {0.9956, 0.9633, 0.8624, 0.6501, 0.4316, 0.2632, 0.1685, 0.1151, 0.0852, 0.0711, 0.0645,
     0.0632},
    {0.9921, 0.9355, 0.7658, 0.4667, 0.2435, 0.1179, 0.0631, 0.0381, 0.0261, 0.0208, 0.0179,
     0.0170},
    {0.9868, 0.8976, 0.6478, 0.3040, 0.1239, 0.0477, 0.0213, 0.0115, 0.0073, 0.0055, 0.0044,
     0.0039},
    {0.9796, 0.8494, 0.5223, 0.1872, 0.0613, 0.0192, 0.0071, 0.0034, 0.0019, 0.0013, 0.0010,
     0.0008},
    {0.9595, 0.7230, 0.3057, 0.0731, 0.0187, 0.0045, 0.0013, 0.0006, 0.0003, 0.0001, 0.0001,
     0.0001},
    {0.9331, 0.5650, 0.1790, 0.0384, 0.0096, 0.0019, 0.0007, 0.0004, 0.0002, 0.0001, 0.0001,
     0.0002},
    {0.8901, 0.3383, 0.0938, 0.0179, 0.0036, 0.0005, 0.0001, 0.0001, 0.0001, 0.0001, 0.0001,
     0.0001},
}};

constexpr double kFirst = 0.06;  // below, the window's own width
constexpr double kLeastRatio = 0.05;
constexpr double kLeastSignal = 1;  // below, residual noise dominates
constexpr std::size_t kFewest = 3;
constexpr double kMostMisfit = 0.1;  // rms of amplitudes
constexpr double kGrowth = 1.005;    // from one D / r0 that is tried to the next

// -log of an entry; the first column is 0.
double loss_at(std::size_t row, std::size_t column) {
  return column == 0 ? 0 : -std::log(kCoherence[row][column - 1]);
}

double loss(std::size_t row, double q) {
  const double at = std::clamp(q / kStep, 0.0, static_cast<double>(kSteps));
  const auto column = std::min(static_cast<std::size_t>(at), kSteps - 1);
  const double t = at - static_cast<double>(column);
  return (1 - t) * loss_at(row, column) + t * loss_at(row, column + 1);
}

// Those before the first without significant signal.
std::vector<Coherence> significant(const std::vector<Coherence>& measured) {
  std::vector<Coherence> out;
  for (const Coherence& one : measured) {
    if (one.q < kFirst) continue;
    if (one.q > kStep * kSteps || !(one.ratio > kLeastRatio) || !(one.signal > kLeastSignal)) break;
    out.push_back(one);
  }
  return out;
}

double misfit(const std::vector<Coherence>& measured, double d_over_r0) {
  double sum = 0;
  for (const Coherence& one : measured) {
    const double off = std::sqrt(one.ratio) - std::sqrt(expected_coherence(one.q, d_over_r0));
    sum += off * off;
  }
  return std::sqrt(sum / static_cast<double>(measured.size()));
}

}  // namespace

double expected_coherence(double q, double d_over_r0) {
  const auto above = std::upper_bound(kTurbulence.begin() + 1, kTurbulence.end() - 1, d_over_r0);
  const auto row = static_cast<std::size_t>(above - kTurbulence.begin()) - 1;
  const double t =
      std::log(d_over_r0 / kTurbulence[row]) / std::log(kTurbulence[row + 1] / kTurbulence[row]);
  // Losses grow as powers of D / r0.
  const double low = loss(row, q);
  const double high = loss(row + 1, q);
  if (!(low > 0)) return 1;
  return std::exp(-low * std::pow(high / low, t));
}

std::optional<double> turbulence_of(const std::vector<Coherence>& measured) {
  const std::vector<Coherence> rings = significant(measured);
  if (rings.size() < kFewest) return std::nullopt;
  double best = kLeastTurbulence;
  double least = misfit(rings, best);
  for (double tried = best; tried < kMostTurbulence; tried *= kGrowth) {
    const double off = misfit(rings, tried);
    if (off >= least) continue;
    least = off;
    best = tried;
  }
  const bool inside = best > kLeastTurbulence && best * kGrowth < kMostTurbulence;
  if (!inside || least > kMostMisfit) return std::nullopt;
  return best;
}

}  // namespace lull::health
