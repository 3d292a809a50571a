#include "core/limit.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>

using lull::limited;

TEST_SUITE("core/limit") {
  // Reference: std::clamp of C++17, which leaves NaN as it is.
  TEST_CASE("numbers are limited as std::clamp does; NaN is 0") {
    constexpr double kInfinity = std::numeric_limits<double>::infinity();
    for (const double value : {-kInfinity, -2.0, -0.0, 0.0, 1e-300, 0.25, 1.0, 1.5, kInfinity})
      CHECK(limited(value, 1.0) == std::clamp(value, 0.0, 1.0));
    CHECK(limited(std::numeric_limits<double>::quiet_NaN(), 1.0) == 0);
    CHECK(limited(std::numeric_limits<float>::quiet_NaN(), 255.0F) == 0);
  }
}
