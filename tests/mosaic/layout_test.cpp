#include "mosaic/layout.h"

#include <doctest/doctest.h>

#include "core/error.h"
#include "mosaic/panels.h"

using namespace lull;

namespace {

std::vector<mosaic::Sketch> sketches_of(const std::vector<Plane>& panels) {
  std::vector<mosaic::Sketch> out;
  for (const Plane& panel : panels)
    out.push_back(mosaic::sketch_of(test::gray(Plane::copy_of(panel.view()))));
  return out;
}

}  // namespace

TEST_SUITE("mosaic/layout") {
  TEST_CASE("panels in any order lie as they were taken; what fits nowhere is apart") {
    const Size panel{340, 280};
    const align::SplinePlane ground(test::rough_ground({640, 520}, 51).view());
    const align::SplinePlane other(test::rough_ground({640, 520}, 52).view());
    const std::vector<mosaic::PanelMap> truth = {
        test::upright(panel, 270, 215), test::upright(panel, 0, 0),
        test::turned(test::upright(panel, 265, 4), 180.4), test::upright(panel, 5, 210)};
    std::vector<Plane> panels;
    for (const auto& map : truth) panels.push_back(test::seen_by(map, ground));
    panels.push_back(test::seen_by(truth[0], other));
    const auto layout = mosaic::lay_out(
        sketches_of(panels),
        [&](mosaic::PanelIndex i) { return test::gray(Plane::copy_of(panels[i].view())); }, {}, {});
    CHECK(layout.group == std::vector<mosaic::PanelIndex>{0, 1, 2, 3});
    REQUIRE(layout.apart.size() == 1);
    CHECK(layout.apart.front() == std::vector<mosaic::PanelIndex>{4});
    CHECK(layout.rigid_rms_px < 0.1);
    CHECK(layout.mosaic.width_px == doctest::Approx(610).epsilon(0.01));
    CHECK(layout.mosaic.height_px == doctest::Approx(495).epsilon(0.01));
    // Upright as the first panel, and all by one common shift from the truth.
    const auto shift = layout.maps[0].middle - truth[0].middle;
    for (const mosaic::PanelIndex i : layout.group) {
      CAPTURE(i);
      CHECK(std::abs(layout.maps[i].middle - truth[i].middle - shift) < 0.15);
      CHECK(test::apart_px(layout.maps[i], truth[i]) < 0.15);
    }
  }

  TEST_CASE("the typical panel is the one whose blur changes least") {
    mosaic::Layout layout;
    layout.group = {0, 2, 3};
    layout.gains = {{{0, 1}, {0.2, 1.5}}, {}, {{0, 1}, {0.2, 0.9}}, {{0, 1}, {0.2, 0.6}}};
    CHECK(mosaic::typical_panel(layout) == 2);
    layout.gains[3].clear();
    CHECK(mosaic::typical_panel(layout) == 3);
  }

  TEST_CASE("panels that share nothing are no mosaic") {
    std::vector<Plane> panels;
    panels.push_back(test::rough_ground({300, 240}, 61));
    panels.push_back(test::rough_ground({300, 240}, 62));
    CHECK_THROWS_AS(
        static_cast<void>(mosaic::lay_out(
            sketches_of(panels),
            [&](mosaic::PanelIndex i) { return test::gray(Plane::copy_of(panels[i].view())); }, {},
            {})),
        NothingUsable);
  }
}
