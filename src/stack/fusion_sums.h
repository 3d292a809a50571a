#pragma once

#include <array>
#include <complex>
#include <vector>

namespace lull::stack {

/// Weighted sums of frames in one patch of the fusion, bin by bin: weight q, frame F, transfer H.
struct FusionSums {
  std::vector<std::complex<float>> light;  ///< q mean(H) H* F
  std::vector<float> power;                ///< q |H|^2
};

/// Patch, half.
using FusionSumsOfHalves = std::vector<std::array<FusionSums, 2>>;

}  // namespace lull::stack
