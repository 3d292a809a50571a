#include "finish/telescope.h"

#include <doctest/doctest.h>

#include <cmath>
#include <initializer_list>
#include <numbers>

using namespace lull;

namespace {

// The autocorrelation of the aperture, counted on a grid.
double counted(double share, double obstruction) {
  constexpr int kSide = 1200;
  const auto open = [obstruction](double x, double y) {
    const double r = 2 * std::hypot(x, y);
    return r <= 1 && r >= obstruction;
  };
  double both = 0;
  double one = 0;
  for (int j = 0; j < kSide; ++j) {
    for (int i = 0; i < kSide; ++i) {
      const double x = (i + 0.5) / kSide - 0.5;
      const double y = (j + 0.5) / kSide - 0.5;
      if (!open(x, y)) continue;
      ++one;
      if (open(x + share, y)) ++both;
    }
  }
  return both / one;
}

}  // namespace

TEST_SUITE("finish/telescope") {
  TEST_CASE("a clear aperture: Goodman, Introduction to Fourier Optics") {
    // 2/pi (acos x - x sqrt(1 - x^2)); at half of the cutoff 2/3 - sqrt(3) / (2 pi).
    CHECK(finish::telescope_transfer(0.5, 0) ==
          doctest::Approx(2.0 / 3 - std::sqrt(3) / (2 * std::numbers::pi)));
    CHECK(finish::telescope_transfer(0, 0) == doctest::Approx(1));
    CHECK(finish::telescope_transfer(1, 0) == doctest::Approx(0));
    CHECK(finish::telescope_transfer(1.3, 0.3) == 0);
  }

  TEST_CASE("without a known obstruction it is 0.3 of the diameter (common practice, no source)") {
    for (const double share : {0.1, 0.5, 0.8})
      CHECK(finish::telescope_transfer(share) == finish::telescope_transfer(share, 0.3));
  }

  TEST_CASE("an obstructed one is the autocorrelation of its aperture, as counted") {
    for (const double obstruction : {0.15, 0.3, 0.6}) {
      for (const double share : {0.0, 0.1, 0.25, 0.36, 0.5, 0.7, 0.9}) {
        CAPTURE(obstruction);
        CAPTURE(share);
        CHECK(std::abs(finish::telescope_transfer(share, obstruction) -
                       counted(share, obstruction)) < 0.004);
      }
    }
  }
}
