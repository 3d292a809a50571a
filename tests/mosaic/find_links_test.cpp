#include "mosaic/find_links.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "mosaic/panels.h"

using namespace lull;

TEST_SUITE("mosaic/find_links") {
  TEST_CASE("panels in any order and turn find those that they overlap, and no others") {
    const Size panel{320, 260};
    const align::SplinePlane ground(test::rough_ground({640, 520}, 3).view());
    const align::SplinePlane elsewhere(test::rough_ground({640, 520}, 4).view());
    const std::vector<mosaic::PanelMap> maps = {
        test::upright(panel, 0, 0), test::turned(test::upright(panel, 250, 5), 181, 1.02),
        test::upright(panel, 4, 200), test::turned(test::upright(panel, 255, 205), 63)};
    std::vector<mosaic::Sketch> sketches;
    for (const auto& map : maps)
      sketches.push_back(mosaic::sketch_of(test::gray(test::seen_by(map, ground))));
    sketches.push_back(mosaic::sketch_of(test::gray(test::seen_by(maps[0], elsewhere))));
    const auto links = mosaic::find_links(sketches);
    std::vector<std::pair<mosaic::PanelIndex, mosaic::PanelIndex>> pairs;
    for (const auto& link : links) {
      pairs.emplace_back(link.first, link.second);
      std::vector<double> off;
      for (const auto& tie : link.ties) {
        const Displacement d =
            maps[link.first].to_mosaic(tie.first) - maps[link.second].to_mosaic(tie.second);
        off.push_back(std::hypot(d.x_px, d.y_px));
      }
      std::nth_element(off.begin(), off.begin() + static_cast<std::ptrdiff_t>(off.size() / 2),
                       off.end());
      CHECK(off[off.size() / 2] < 1);
    }
    const auto has = [&](mosaic::PanelIndex a, mosaic::PanelIndex b) {
      return std::find(pairs.begin(), pairs.end(), std::pair(a, b)) != pairs.end();
    };
    CHECK(has(0, 1));
    CHECK(has(0, 2));
    CHECK(has(1, 3));
    CHECK(has(2, 3));
    for (const auto& [first, second] : pairs) CHECK(second != 4);
  }

  TEST_CASE("nothing to see gives no link") {
    std::vector<mosaic::Sketch> sketches;
    for (int i = 0; i < 2; ++i)
      sketches.push_back(mosaic::sketch_of(test::gray(Plane(Size{200, 160}))));
    CHECK(mosaic::find_links(sketches).empty());
    CHECK(mosaic::find_links({}).empty());
  }
}
