#include "report/tone.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

namespace {

using namespace lull;
using namespace lull::report;

files::Picture ramp(int width, int height) {
  files::Picture picture = files::make_picture({width, height}, 1);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x)
      picture.channels[0].row(y)[x] = static_cast<float>(x) / static_cast<float>(width - 1);
  }
  return picture;
}

}  // namespace

TEST_SUITE("report/tone") {
  TEST_CASE("light becomes sRGB as IEC 61966-2-1 has it") {
    // Decoded levels of the standard's inverse: ((v / 255 + 0.055) / 1.055)^2.4 above level 10,
    // v / 255 / 12.92 below (values computed from the formulae of the standard, from memory).
    for (int level = 0; level <= 255; ++level) {
      const double v = level / 255.0;
      const double light = v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
      CAPTURE(level);
      CHECK(srgb_byte(light) == level);
    }
    // 18% gray is level 118, half of the light level 188: common check values of the curve.
    CHECK(srgb_byte(0.18) == 118);
    CHECK(srgb_byte(0.5) == 188);
    CHECK(srgb_byte(-1) == 0);
    CHECK(srgb_byte(7) == 255);
  }

  TEST_CASE("what is not a finite number is black or white, never an index outside the table") {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    CHECK(srgb_byte(nan) == 0);
    CHECK(srgb_byte(std::numeric_limits<double>::infinity()) == 255);
    files::Picture picture = ramp(4, 1);
    picture.channels[0].row(0)[1] = std::numeric_limits<float>::quiet_NaN();
    picture.channels[0].row(0)[2] = std::numeric_limits<float>::infinity();
    const auto bitmap = toned(picture.view(), {0, 1}, files::Transfer::linear, 1);
    CHECK(bitmap.samples == std::vector<std::uint8_t>{0, 0, 255, 255});
    // Levels that are not numbers do not lead outside it either.
    CHECK(toned(picture.view(), {nan, nan}, files::Transfer::linear, 1).samples.size() == 4);
  }

  TEST_CASE("the table that pictures go through is never off by more than one level") {
    const auto picture = ramp(4097, 1);
    const files::Bitmap bitmap = toned(picture.view(), {0, 1}, files::Transfer::linear, 1);
    for (int x = 0; x < 4097; ++x) {
      const int exact = srgb_byte(static_cast<double>(picture.channels[0].row(0)[x]));
      CHECK(std::abs(exact - bitmap.samples[static_cast<std::size_t>(x)]) <= 1);
    }
  }

  TEST_CASE("reduction takes means of light, not of levels") {
    auto picture = files::make_picture({4, 4}, 1);
    for (int y = 0; y < 4; ++y) {
      for (int x = 0; x < 4; ++x) picture.channels[0].row(y)[x] = (x + y) % 2 == 0 ? 1.0F : 0.0F;
    }
    const files::Bitmap bitmap = toned(picture.view(), {0, 1}, files::Transfer::linear, 2);
    CHECK(bitmap.width_px == 2);
    CHECK(bitmap.height_px == 2);
    for (const auto sample : bitmap.samples) CHECK(std::abs(sample - 188) <= 1);
  }
}
