// Covers: mosaic/readable, mosaic/patch_ties, mosaic/bend_panels, mosaic/tie
#include <doctest/doctest.h>

#include <cmath>

#include "core/statistics.h"
#include "mosaic/bend_panels.h"
#include "mosaic/panels.h"
#include "mosaic/patch_ties.h"

using namespace lull;

namespace {

constexpr Size kPanel{400, 300};

double gap_px(const mosaic::PanelMap& a, const mosaic::PanelMap& b, const mosaic::Tie& tie) {
  const Displacement d = a.to_mosaic(tie.first) - b.to_mosaic(tie.second);
  return std::hypot(d.x_px, d.y_px);
}

}  // namespace

TEST_SUITE("mosaic/registration") {
  TEST_CASE("ties lie within a seventh of a pixel from maps off by four, then within 0.03") {
    const align::SplinePlane ground(test::rough_ground({700, 320}, 8).view());
    const mosaic::PanelMap first = test::upright(kPanel, 0, 5);
    const mosaic::PanelMap second = test::turned(test::upright(kPanel, 160, 10), 179.2);
    const auto a = mosaic::readable(test::gray(test::seen_by(first, ground)));
    const auto b = mosaic::readable(test::gray(test::seen_by(second, ground)));
    mosaic::PanelMap off = second;
    off.middle += std::complex<double>(-2.4, 3.1);
    const auto ties = mosaic::patch_ties(a, first, b, off, {});
    CHECK(ties.size() > 15);
    const auto median_gap = [&](const std::vector<mosaic::Tie>& some) {
      std::vector<double> gaps;
      for (const auto& tie : some) gaps.push_back(gap_px(first, second, tie));
      return median(gaps);
    };
    CHECK(median_gap(ties) < 0.15);
    // From where these lead.
    CHECK(median_gap(mosaic::patch_ties(
              a, first, b, second, {.window_px = 48, .spacing_px = 24, .reach_px = 4})) < 0.03);
  }

  TEST_CASE("an empty sky gives no tie") {
    const mosaic::PanelMap first = test::upright(kPanel, 0, 0);
    const mosaic::PanelMap second = test::upright(kPanel, 200, 0);
    const auto a = mosaic::readable(test::gray(Plane(kPanel)));
    CHECK(mosaic::patch_ties(a, first, a, second, {}).empty());
  }

  TEST_CASE("bends make ties meet, share the difference, and end where nothing is known") {
    std::vector<mosaic::PanelMap> truth = {test::upright(kPanel, 0, 0),
                                           test::turned(test::upright(kPanel, 280, 0), 180)};
    std::vector<mosaic::PanelMap> maps = truth;
    test::bend_in_waves(truth[0], 1.6, 0.4, 160);
    test::bend_in_waves(truth[1], 1.6, 1.9, 160);
    mosaic::Link link{0, 1, {}};
    for (double y = 10; y < 290; y += 16) {
      for (double x = 290; x < 395; x += 16)
        link.ties.push_back({truth[0].to_panel({x, y}), truth[1].to_panel({x, y}), 400});
    }
    const auto rms_of = [&] {
      double sum = 0;
      for (const auto& tie : link.ties) sum += std::pow(gap_px(maps[0], maps[1], tie), 2);
      return std::sqrt(sum / static_cast<double>(link.ties.size()));
    };
    CHECK(rms_of() > 0.8);
    const double left = mosaic::bend_panels(maps, {0, 1}, {link}, {});
    CHECK(left < 0.1);
    CHECK(rms_of() < 0.12);
    // Bends of panels that meet nowhere else do not wander off, and end far from the overlap.
    CHECK(maps[0].bend.rms_px() < 1.5);
    CHECK(maps[1].bend.rms_px() < 1.5);
    const Displacement far = maps[0].bend.at({0, 150});
    CHECK(std::hypot(far.x_px, far.y_px) < 0.6 * maps[0].bend.rms_px());
  }

  TEST_CASE("bends bring anchors to where they lie, and end far from them") {
    std::vector<mosaic::PanelMap> maps = {test::turned(test::upright(kPanel, 0, 0), 90)};
    std::vector<mosaic::Anchor> anchors;
    for (double y = 20; y < 280; y += 16) {
      const Displacement place{385, y};
      const Displacement at = maps[0].to_mosaic(place);
      anchors.push_back({0, place, {at.x_px + 1.2, at.y_px - 0.8}, {400, 0, 1e-6}});
    }
    mosaic::bend_panels(maps, {0}, {}, {}, anchors);
    const Displacement at = maps[0].to_mosaic({385, 150});
    const Displacement unbent = test::turned(test::upright(kPanel, 0, 0), 90).to_mosaic({385, 150});
    CHECK(at.x_px - unbent.x_px == doctest::Approx(1.2).epsilon(0.05));
    CHECK(std::abs(at.y_px - unbent.y_px) < 0.1);  // along which the anchor knows nothing
    const Displacement far = maps[0].bend.at({5, 150});
    CHECK(std::hypot(far.x_px, far.y_px) < 0.3);
  }

  TEST_CASE("bends follow only what ties know") {
    std::vector<mosaic::PanelMap> maps = {test::upright(kPanel, 0, 0),
                                          test::upright(kPanel, 200, 0)};
    mosaic::Link link{0, 1, {}};
    for (double y = 10; y < 290; y += 16) {
      for (double x = 210; x < 395; x += 16)  // half a pixel across; 2 down that nobody knows
        link.ties.push_back({{x, y}, {x - 200.5, y + 2}, {400, 0, 1e-6}});
    }
    mosaic::bend_panels(maps, {0, 1}, {link}, {});
    const Displacement first = maps[0].bend.at({300, 150});
    const Displacement second = maps[1].bend.at({100, 150});
    CHECK(second.x_px - first.x_px == doctest::Approx(0.5).epsilon(0.1));
    CHECK(std::abs(second.y_px - first.y_px) < 0.1);
  }
}
