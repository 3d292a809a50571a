#include "core/srgb.h"

#include <doctest/doctest.h>

using namespace lull;

// Little CMS checks the same curve through the profile of files: finish/tone_test.
TEST_SUITE("core/srgb") {
  TEST_CASE("the curve is that of IEC 61966-2-1") {
    // Values of the standard's two formulae; 0.0031308 and 0.04045 are its knee.
    const double values[][2] = {{0, 0},           {0.001, 0.01292}, {0.0031308, 0.04045},
                                {0.18, 0.461356}, {0.5, 0.735357},  {1, 1}};
    for (const auto& pair : values) {
      const double light = pair[0];
      const double value = pair[1];
      CAPTURE(light);
      CHECK(srgb::from_light(light) == doctest::Approx(value).epsilon(2e-5));
    }
    CHECK(srgb::from_light(-0.2) == 0);
    CHECK(srgb::from_light(1.7) == doctest::Approx(1));
  }
}
