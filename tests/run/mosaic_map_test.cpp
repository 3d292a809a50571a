#include "run/mosaic_map.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <regex>
#include <string>

using namespace lull;

TEST_SUITE("run/mosaic_map") {
  namespace {

  mosaic::PanelMap panel_at(double x_px, double y_px) {
    mosaic::PanelMap map;
    map.panel = {101, 81};
    map.middle = {x_px, y_px};
    return map;
  }

  // The first panel above left, the others below it and to the right.
  run::MosaicOutcome three_panels(std::size_t ties_to_the_right) {
    run::MosaicOutcome outcome;
    outcome.layout.mosaic = {250, 200};
    outcome.layout.group = {0, 1, 2};
    outcome.layout.maps = {panel_at(50, 40), panel_at(50, 140), panel_at(190, 40)};
    outcome.layout.links = {{0, 1, std::vector<mosaic::Tie>(30)},
                            {0, 2, std::vector<mosaic::Tie>(ties_to_the_right)}};
    outcome.numbers = {1, 3, 4};
    return outcome;
  }

  struct Place {
    double x = 0;
    double y = 0;
  };

  // Of a label, in the picture.
  Place label_in(const std::string& map, const std::string& text) {
    const std::regex label("<text class=\"label\" x=\"([0-9.]+)\" y=\"([0-9.]+)\"[^>]*>" + text +
                           "</text>");
    std::smatch found;
    REQUIRE(std::regex_search(map, found, label));
    return {std::strtod(found[1].str().c_str(), nullptr),
            std::strtod(found[2].str().c_str(), nullptr)};
  }

  bool names(const std::string& map, const std::string& series) {
    return map.find(">" + series + "</text>") != std::string::npos;
  }

  }  // namespace

  TEST_CASE("the limb is drawn where it was laid onto a circle") {
    run::MosaicOutcome outcome = three_panels(30);
    CHECK_FALSE(names(run::mosaic_map(outcome), "limb"));
    outcome.limb = run::JoinedLimb{{{{120, 100, 90}, {}}, 0.01}, {}};
    CHECK(names(run::mosaic_map(outcome), "limb"));
  }

  TEST_CASE("panels stand as in the mosaic, numbered as they were given, at one scale") {
    const std::string map = run::mosaic_map(three_panels(30));
    const Place first = label_in(map, "1");
    const Place below = label_in(map, "3");
    const Place right = label_in(map, "4");
    CHECK(below.x == doctest::Approx(first.x));
    CHECK(below.y > first.y);
    CHECK(right.y == doctest::Approx(first.y));
    CHECK(right.x > first.x);
    CHECK((right.x - first.x) / 140 == doctest::Approx((below.y - first.y) / 100).epsilon(0.001));
  }

  TEST_CASE(
      "what panels resolve stands below their numbers; where that is crowded, of coarse ones") {
    run::MosaicOutcome outcome = three_panels(30);
    outcome.resolution_px = {3.0, 3.1, 6.0};
    CHECK(names(run::mosaic_map(outcome), "3.0 px"));
    CHECK(names(run::mosaic_map(outcome), "6.0 px"));
    outcome.layout.mosaic = {1000, 200};  // the first two are 100 px apart, a tenth
    CHECK_FALSE(names(run::mosaic_map(outcome), "3.0 px"));
    CHECK_FALSE(names(run::mosaic_map(outcome), "3.1 px"));
    CHECK(names(run::mosaic_map(outcome), "6.0 px"));
  }

  TEST_CASE("overlaps of few places and holes are drawn where there are any") {
    CHECK_FALSE(names(run::mosaic_map(three_panels(30)), "overlaps of few places"));
    CHECK_FALSE(names(run::mosaic_map(three_panels(30)), "holes"));
    run::MosaicOutcome outcome = three_panels(mosaic::kFewTies - 1);
    outcome.holes = {{{120, 100, 140, 120}, {130, 110}, 400}};
    const std::string map = run::mosaic_map(outcome);
    CHECK(names(map, "overlaps"));
    CHECK(names(map, "overlaps of few places"));
    CHECK(names(map, "holes"));
  }

  TEST_CASE("what each panel resolves stands below its number; places of moved light are drawn") {
    run::MosaicOutcome outcome = three_panels(30);
    CHECK_FALSE(names(run::mosaic_map(outcome), "shadows that moved"));
    outcome.resolution_px = {3.42, std::nullopt, 7.81};
    outcome.moved.places = {{20, 100, 60, 130}};
    const std::string map = run::mosaic_map(outcome);
    CHECK(names(map, "shadows that moved"));
    CHECK(label_in(map, "3.4 px").x == doctest::Approx(label_in(map, "1").x));
    CHECK(label_in(map, "3.4 px").y > label_in(map, "1").y);
    CHECK(label_in(map, "7.8 px").x == doctest::Approx(label_in(map, "4").x));
  }
}
