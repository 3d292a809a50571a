#include "health/sample_kernels.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstddef>
#include <cstdint>
#include <random>
#include <vector>

#include "spectrum/fft.h"

using namespace lull;

TEST_SUITE("health/sample_kernels") {
  namespace {

  template <class T, class Strip>
  void check_strip(int most_value, const Strip& strip) {
    std::mt19937 random(3);
    std::uniform_int_distribution<int> any(0, most_value);
    for (const int width : {1, 7, 16, 33, 100}) {
      CAPTURE(width);
      const auto count = static_cast<std::size_t>(width);
      std::array<std::vector<T>, 6> values;
      std::array<const T*, 6> rows{};
      for (std::size_t r = 0; r < rows.size(); ++r) {
        for (std::size_t x = 0; x < count; ++x) values[r].push_back(static_cast<T>(any(random)));
        rows[r] = values[r].data();
      }
      std::vector<int> sums(count);
      std::vector<int> most(count);
      strip(rows.data(), width, sums.data(), most.data());
      for (std::size_t x = 0; x < count; ++x) {
        int sum = 0;
        int highest = 0;
        for (const auto& row : values) {
          sum += row[x];
          highest = std::max(highest, int{row[x]});
        }
        CHECK(sums[x] == sum);
        CHECK(most[x] == highest);
      }
    }
  }

  }  // namespace

  TEST_CASE("sums and highest values of six rows, up to the largest samples") {
    check_strip<std::uint8_t>(255, health::kernels::strip_u8());
    check_strip<std::uint16_t>(65535, health::kernels::strip_u16());
    check_strip<std::uint16_t>(65535, health::baseline::strip_u16);
  }

  TEST_CASE("the scatter of complex values about their mean is added") {
    const std::vector<std::complex<float>> values = {{1, 2}, {0, -1}, {4, 4}};
    const std::vector<std::complex<float>> mean = {{0, 0}, {0, -1}, {1, 0}};
    std::vector<float> sums = {10, 0, 1};
    health::kernels::add_scatter()(spectrum::reals(values.data()), spectrum::reals(mean.data()), 3,
                                   sums.data());
    CHECK(sums == std::vector<float>{15, 0, 26});
  }
}
