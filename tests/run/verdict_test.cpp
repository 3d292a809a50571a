#include "run/verdict.h"

#include <doctest/doctest.h>

#include "support/text.h"

using namespace lull;

TEST_SUITE("run/verdict") {
  TEST_CASE("the saturated area of the kept frames is reported from a hundredth on") {
    survey::Survey survey;
    for (int i = 0; i < 4; ++i) {
      quality::FrameRecord record;
      record.index = 10 + i;
      record.saturated_share = i < 2 ? 0.2 : 0.0;
      survey.records.push_back(record);
    }
    CHECK(test::contains(run::saturation_warning(survey, {10, 11}), "20% of the area"));
    CHECK(test::contains(run::saturation_warning(survey, {10, 12}), "10% of the area"));
    CHECK(run::saturation_warning(survey, {12, 13}).empty());
    CHECK(run::saturation_warning(survey, {}).empty());
    survey.records[2].saturated_share = 0.009;
    CHECK(run::saturation_warning(survey, {12}).empty());
  }
}
