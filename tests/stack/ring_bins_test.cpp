#include "stack/ring_bins.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace lull;

TEST_SUITE("stack/ring_bins") {
  // A real plane's spectrum is symmetric (Bracewell, The Fourier Transform and Its Applications,
  // chapter 2, from memory), so rings of the half count every bin of the whole.
  TEST_CASE("rings of a half spectrum count the bins of the whole one") {
    for (const Size size : {Size{16, 16}, Size{15, 12}, Size{9, 25}, Size{1, 8}}) {
      CAPTURE(size.width_px);
      constexpr std::size_t kRings = 5;
      std::vector<double> expected(kRings);
      for (int v = 0; v < size.height_px; ++v) {
        for (int u = 0; u < size.width_px; ++u) {
          const double fx = std::min(u, size.width_px - u) / static_cast<double>(size.width_px);
          const double fy = std::min(v, size.height_px - v) / static_cast<double>(size.height_px);
          const auto ring = static_cast<std::size_t>(2 * std::hypot(fx, fy) * kRings);
          if (ring < kRings) expected[ring] += 1;
        }
      }
      const stack::RingBins bins(size, kRings);
      std::vector<double> sums(kRings);
      bins.add(std::vector<float>(bins.count(), 1.0F), 1, sums.data());
      CHECK(sums == expected);
      bins.add(std::vector<float>(bins.count(), 2.0F), 0.5, sums.data());
      for (std::size_t k = 0; k < kRings; ++k) CHECK(sums[k] == 2 * expected[k]);
    }
  }
}
