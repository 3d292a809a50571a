#include "run/air.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "support/text.h"

using namespace lull;

TEST_SUITE("run/air") {
  // Common practice, no source: below D / r0 = 3 good, above 7 poor.
  TEST_CASE("the word for the air, and Fried's parameter for the aperture") {
    struct Case {
      double d_over_r0;
      const char* word;
    };

    for (const Case& air : {Case{2.9, "good"}, {3.1, "fair"}, {6.9, "fair"}, {7.1, "poor"}}) {
      CAPTURE(air.d_over_r0);
      const run::Air found{{air.d_over_r0, 100, {}}, {200, 2000, 3, 550}};
      CHECK(found.quality() == air.word);
      CHECK(test::contains(found.text(), air.word));
      CHECK(found.r0_mm() == doctest::Approx(200 / air.d_over_r0));
      CHECK(run::to_json(found).at("quality") == air.word);
    }
  }
}
