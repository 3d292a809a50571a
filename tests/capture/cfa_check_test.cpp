#include "capture/cfa_check.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "support/text.h"

using namespace lull;
using namespace lull::capture;
using test::contains;

namespace {

constexpr int kSide = 120;

// A shaded disc with noise; `light` is what a pixel makes of it.
std::string warning_of(Cfa said, const std::function<double(int x, int y)>& light) {
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, 6);
  std::vector<std::uint8_t> samples(std::size_t{kSide} * kSide);
  for (int y = 0; y < kSide; ++y) {
    for (int x = 0; x < kSide; ++x) {
      const double r = std::hypot(x - 58.3, y - 61.8) / 45;
      const double disc = r < 1 ? 150 * std::sqrt(1 - r * r) * (1 + 0.1 * std::sin(0.3 * y)) : 0;
      samples[static_cast<std::size_t>(std::ptrdiff_t{y} * kSide + x)] = static_cast<std::uint8_t>(
          std::clamp(10 + disc * light(x, y) + noise(random), 0.0, 255.0));
    }
  }
  Frame frame;
  frame.planes[0] = {reinterpret_cast<const std::byte*>(samples.data()), kSide, kSide, kSide,
                     SampleType::u8};
  CfaCheck check;
  check.add(frame);
  return check.warning(said);
}

std::function<double(int, int)> filters(Cfa cfa, double red, double blue) {
  return [=](int x, int y) {
    const int colour = cfa_colour_at(cfa, x, y);
    return colour == 0 ? red : colour == 1 ? 1.0 : blue;
  };
}

}  // namespace

TEST_SUITE("capture/cfa_check") {
  TEST_CASE("greens on the wrong diagonal are noticed, the right order is never doubted") {
    for (const Cfa truth : {Cfa::rggb, Cfa::bggr, Cfa::grbg, Cfa::gbrg}) {
      for (const Cfa said : {Cfa::rggb, Cfa::bggr, Cfa::grbg, Cfa::gbrg}) {
        CAPTURE(cfa_name(truth));
        CAPTURE(cfa_name(said));
        const std::string warning = warning_of(said, filters(truth, 0.8, 0.6));
        const auto beside = [](Cfa cfa) { return cfa == Cfa::rggb || cfa == Cfa::bggr; };
        if (beside(truth) == beside(said)) {  // red and blue exchanged cannot be noticed
          CHECK(warning.empty());
        } else {
          CHECK(contains(warning, beside(truth) ? "RGGB or BGGR" : "GRBG or GBRG"));
        }
      }
    }
  }

  TEST_CASE("a mosaic that is stated to be mono is noticed") {
    CHECK(contains(warning_of(Cfa::none, filters(Cfa::rggb, 1.09, 0.79)), "RGGB or BGGR"));
    CHECK(contains(warning_of(Cfa::none, filters(Cfa::gbrg, 0.5, 0.6)), "GRBG or GBRG"));
    CHECK(
        contains(warning_of(Cfa::none, filters(Cfa::gbrg, 0.6, 0.6)), "the order that its maker"));
  }

  // By hand: greens of 1 and 0.8 differ by 22% of their mean; a pedestal of 10 under about 100
  // levels of light takes a tenth of that off.
  TEST_CASE("by how much the greens differ is reported") {
    const std::string warning = warning_of(Cfa::grbg, [](int x, int y) {
      return x % 2 != y % 2 ? 0.9 : y % 2 == 0 ? 1 : 0.8;
    });
    CAPTURE(warning);
    CHECK((contains(warning, "differ by 19%") || contains(warning, "differ by 20%") ||
           contains(warning, "differ by 21%")));
  }

  TEST_CASE("mono cameras, patterns of columns and rows, and gray mosaics raise no warning") {
    CHECK(warning_of(Cfa::none, [](int, int) { return 1.0; }).empty());
    CHECK(warning_of(Cfa::none, [](int x, int) { return x % 2 == 0 ? 1.0 : 0.94; }).empty());
    CHECK(warning_of(Cfa::none, [](int, int y) { return y % 2 == 0 ? 1.0 : 0.94; }).empty());
    CHECK(warning_of(Cfa::rggb, filters(Cfa::grbg, 1, 1)).empty());
  }
}
