#include "spectrum/coherence.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull::spectrum {

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

constexpr std::size_t kPowerSteps = 19;

constexpr std::array<double, 12> kPowerTurbulence = {1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 7, 8, 10, 12};

constexpr std::array<std::array<double, kPowerSteps>, kPowerTurbulence.size()> kSpecklePower = {{
    {0.9402, 0.8576, 0.7681, 0.6897, 0.6281, 0.5875, 0.5713, 0.5658, 0.5631, 0.5639, 0.5671, 0.5733,
     0.5858, 0.6073, 0.6340, 0.6654, 0.7016, 0.7465, 0.8038},
    {0.9049, 0.7801, 0.6538, 0.5520, 0.4784, 0.4338, 0.4182, 0.4147, 0.4137, 0.4160, 0.4206, 0.4281,
     0.4426, 0.4675, 0.4987, 0.5363, 0.5805, 0.6369, 0.7118},
    {0.8658, 0.6994, 0.5441, 0.4298, 0.3549, 0.3135, 0.3015, 0.3009, 0.3020, 0.3057, 0.3110, 0.3189,
     0.3334, 0.3585, 0.3906, 0.4298, 0.4773, 0.5394, 0.6255},
    {0.8225, 0.6166, 0.4412, 0.3252, 0.2570, 0.2230, 0.2157, 0.2178, 0.2205, 0.2249, 0.2304, 0.2378,
     0.2513, 0.2748, 0.3051, 0.3432, 0.3903, 0.4538, 0.5455},
    {0.7777, 0.5378, 0.3527, 0.2434, 0.1861, 0.1607, 0.1573, 0.1611, 0.1647, 0.1693, 0.1744, 0.1811,
     0.1931, 0.2141, 0.2416, 0.2769, 0.3217, 0.3836, 0.4765},
    {0.7320, 0.4643, 0.2784, 0.1812, 0.1360, 0.1181, 0.1176, 0.1223, 0.1261, 0.1304, 0.1350, 0.1409,
     0.1513, 0.1697, 0.1941, 0.2260, 0.2673, 0.3260, 0.4173},
    {0.6397, 0.3360, 0.1686, 0.1011, 0.0764, 0.0690, 0.0711, 0.0757, 0.0791, 0.0825, 0.0860, 0.0903,
     0.0979, 0.1117, 0.1303, 0.1555, 0.1894, 0.2400, 0.3236},
    {0.5485, 0.2340, 0.0998, 0.0587, 0.0469, 0.0443, 0.0469, 0.0506, 0.0533, 0.0558, 0.0584, 0.0615,
     0.0671, 0.0774, 0.0916, 0.1111, 0.1383, 0.1807, 0.2548},
    {0.4653, 0.1603, 0.0605, 0.0371, 0.0317, 0.0311, 0.0335, 0.0363, 0.0384, 0.0403, 0.0422, 0.0445,
     0.0489, 0.0568, 0.0677, 0.0831, 0.1050, 0.1406, 0.2059},
    {0.3908, 0.1086, 0.0383, 0.0255, 0.0230, 0.0231, 0.0251, 0.0273, 0.0290, 0.0304, 0.0319, 0.0337,
     0.0372, 0.0434, 0.0521, 0.0644, 0.0823, 0.1122, 0.1699},
    {0.2688, 0.0494, 0.0181, 0.0143, 0.0138, 0.0143, 0.0156, 0.0171, 0.0182, 0.0191, 0.0200, 0.0213,
     0.0236, 0.0277, 0.0336, 0.0418, 0.0541, 0.0759, 0.1218},
    {0.1793, 0.0232, 0.0104, 0.0092, 0.0092, 0.0096, 0.0106, 0.0116, 0.0123, 0.0130, 0.0136, 0.0145,
     0.0161, 0.0191, 0.0232, 0.0291, 0.0380, 0.0544, 0.0918},
}};

constexpr double kFirst = 0.06;  // below, the window's own width
constexpr double kLeastRatio = 0.05;
constexpr double kLeastSignal = 1;  // below, residual noise dominates
constexpr std::size_t kFewest = 3;
constexpr double kMostMisfit = 0.1;  // rms of amplitudes
constexpr double kStillAir = 0.3;    // D / r0: next to nothing is lost
constexpr double kGrowth = 1.005;    // from one D / r0 that is tried to the next

// Losses of power by frequency and D / r0, of which a table holds what is left; at q = 0 nothing is
// lost.
template <std::size_t Rows, std::size_t Columns>
class Losses {
 public:
  constexpr Losses(const std::array<double, Rows>& turbulence,
                   const std::array<std::array<double, Columns>, Rows>& left)
      : turbulence_(turbulence), left_(left) {}

  // What is left. Losses grow as powers of D / r0.
  [[nodiscard]] double left_at(double q, double d_over_r0) const {
    const auto above = std::upper_bound(turbulence_.begin() + 1, turbulence_.end() - 1, d_over_r0);
    const auto row = static_cast<std::size_t>(above - turbulence_.begin()) - 1;
    const double low = loss(row, q);
    if (!(low > 0)) return 1;
    const double t =
        std::log(d_over_r0 / turbulence_[row]) / std::log(turbulence_[row + 1] / turbulence_[row]);
    return std::exp(-low * std::pow(loss(row + 1, q) / low, t));
  }

 private:
  [[nodiscard]] double loss_in(std::size_t row, std::size_t column) const {
    return column == 0 ? 0 : -std::log(left_[row][column - 1]);
  }

  [[nodiscard]] double loss(std::size_t row, double q) const {
    const double at = std::clamp(q / kStep, 0.0, static_cast<double>(Columns));
    const auto column = std::min(static_cast<std::size_t>(at), Columns - 1);
    const double t = at - static_cast<double>(column);
    return (1 - t) * loss_in(row, column) + t * loss_in(row, column + 1);
  }

  const std::array<double, Rows>& turbulence_;
  const std::array<std::array<double, Columns>, Rows>& left_;
};

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

struct Fit {
  double d_over_r0 = 0;
  double misfit = 0;
};

Fit best_fit(const std::vector<Coherence>& rings, double least) {
  Fit best{least, misfit(rings, least)};
  double tried = least;
  while (tried < kMostTurbulence) {
    const double off = misfit(rings, tried);
    if (off < best.misfit) best = {tried, off};
    tried *= kGrowth;
  }
  return best;
}

}  // namespace

double expected_coherence(double q, double d_over_r0) {
  return Losses(kTurbulence, kCoherence).left_at(q, d_over_r0);
}

double expected_speckle_power(double q, double d_over_r0) {
  return Losses(kPowerTurbulence, kSpecklePower).left_at(q, d_over_r0);
}

std::optional<double> nearest_turbulence(const std::vector<Coherence>& measured) {
  const std::vector<Coherence> rings = significant(measured);
  if (rings.empty()) return std::nullopt;
  const Fit fit = best_fit(rings, kStillAir);
  if (fit.misfit > kMostMisfit) return std::nullopt;
  return fit.d_over_r0;
}

std::optional<double> turbulence_of(const std::vector<Coherence>& measured) {
  const std::vector<Coherence> rings = significant(measured);
  if (rings.size() < kFewest) return std::nullopt;
  const Fit fit = best_fit(rings, kLeastTurbulence);
  const bool inside = fit.d_over_r0 > kLeastTurbulence && fit.d_over_r0 * kGrowth < kMostTurbulence;
  if (!inside || fit.misfit > kMostMisfit) return std::nullopt;
  return fit.d_over_r0;
}

}  // namespace lull::spectrum
