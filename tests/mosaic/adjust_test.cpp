#include "mosaic/adjust.h"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/calib3d.hpp>
#include <random>

#include "mosaic/panels.h"

using namespace lull;
using mosaic::PanelIndex;
using mosaic::PanelMap;

namespace {

constexpr Size kPanelSize{300, 240};

std::vector<PanelMap> true_maps() {
  std::vector<PanelMap> maps;
  for (int row = 0; row < 2; ++row)
    for (int column = 0; column < 3; ++column)
      maps.push_back(test::upright(kPanelSize, 240.0 * column, 190.0 * row));
  maps[1] = test::turned(maps[1], 0.7, 1.004);
  maps[2] = test::turned(maps[2], 180.3, 0.997);
  maps[4] = test::turned(maps[4], -0.4);
  for (PanelMap& map : maps) map.distortion = 0.003;
  return maps;
}

// Places that both show, with an error; every twentieth is far off.
std::vector<mosaic::Link> links_of(const std::vector<PanelMap>& maps, double error_px) {
  std::mt19937 random(5);
  std::normal_distribution<double> error(0, error_px);
  std::vector<mosaic::Link> links;
  int count = 0;
  for (PanelIndex i = 0; i < maps.size(); ++i) {
    for (PanelIndex j = i + 1; j < maps.size(); ++j) {
      mosaic::Link link{i, j, {}};
      for (double y = 0; y < 450; y += 13) {
        for (double x = 0; x < 800; x += 13) {
          const Displacement p = maps[i].to_panel({x, y});
          const Displacement q = maps[j].to_panel({x, y});
          if (!mosaic::is_inside(kPanelSize, p, 0) || !mosaic::is_inside(kPanelSize, q, 0))
            continue;
          const double wrong = ++count % 20 == 0 ? 15 : 0;
          link.ties.push_back({p, {q.x_px + error(random) + wrong, q.y_px + error(random)}, 1});
        }
      }
      if (!link.ties.empty()) links.push_back(std::move(link));
    }
  }
  return links;
}

}  // namespace

TEST_SUITE("mosaic/adjust") {
  TEST_CASE("finds places, turns, scales and the distortion of all panels from their ties") {
    const std::vector<PanelMap> truth = true_maps();
    const auto links = links_of(truth, 0.2);
    const std::vector<PanelIndex> group = {0, 1, 2, 3, 4, 5};
    auto maps = mosaic::first_places(std::vector<Size>(6, kPanelSize), group, links);
    const double left_px = mosaic::adjust(maps, group, links);
    CHECK(left_px > 0.2);
    CHECK(left_px < 0.35);
    CHECK(maps.front().distortion == doctest::Approx(0.003).epsilon(0.2));
    for (const PanelIndex panel : group) {
      CAPTURE(panel);
      CHECK(test::apart_px(maps[panel], truth[panel]) < 0.12);
    }
  }

  TEST_CASE("two panels lie as OpenCV's robust similarity says") {
    const std::vector<PanelMap> truth = {test::upright(kPanelSize, 0, 0),
                                         test::turned(test::upright(kPanelSize, 220, 30), 12, 1.1)};
    const auto links = links_of(truth, 0.3);
    auto maps = mosaic::first_places({kPanelSize, kPanelSize}, {0, 1}, links);
    mosaic::adjust(maps, {0, 1}, links);
    std::vector<cv::Point2d> from;
    std::vector<cv::Point2d> to;
    for (const mosaic::Tie& tie : links.front().ties) {
      from.emplace_back(tie.second.x_px, tie.second.y_px);
      const Displacement at = maps[0].to_mosaic(tie.first);
      to.emplace_back(at.x_px, at.y_px);
    }
    const cv::Mat found = cv::estimateAffinePartial2D(from, to, cv::noArray(), cv::RANSAC, 1);
    CHECK(maps[1].factor.real() == doctest::Approx(found.at<double>(0, 0)).epsilon(2e-3));
    CHECK(maps[1].factor.imag() == doctest::Approx(found.at<double>(1, 0)).epsilon(1e-2));
  }

  TEST_CASE("errors along which a tie knows nothing do no harm") {
    const std::vector<PanelMap> truth = true_maps();
    auto links = links_of(truth, 0);
    int count = 0;
    for (mosaic::Link& link : links) {
      for (mosaic::Tie& tie : link.ties) {
        const double angle = 0.7 * ++count;
        const double x = std::cos(angle);
        const double y = std::sin(angle);
        tie.weight = {x * x, x * y, y * y};
        const Displacement at = truth[link.first].to_mosaic(tie.first);
        const double wrong = count % 2 == 0 ? 3 : -2;
        tie.second = truth[link.second].to_panel({at.x_px - wrong * y, at.y_px + wrong * x});
      }
    }
    const std::vector<PanelIndex> group = {0, 1, 2, 3, 4, 5};
    std::vector<PanelMap> maps = truth;
    for (PanelMap& map : maps) map.middle += std::complex<double>(0.4, -0.3);
    maps.front() = truth.front();
    CHECK(mosaic::adjust(maps, group, links) < 0.02);
    for (const PanelIndex panel : group) CHECK(test::apart_px(maps[panel], truth[panel]) < 0.02);
  }

  TEST_CASE("anchors bring the panels to where they lie, but for the first, which stays") {
    const std::vector<PanelMap> truth = true_maps();
    std::vector<PanelMap> maps = truth;
    for (std::size_t i = 1; i < maps.size(); ++i) {
      maps[i].middle += std::complex<double>(0.3 * static_cast<double>(i), -0.5);
      maps[i].factor *= std::polar(1.002, 0.003);
    }
    std::vector<mosaic::Anchor> anchors;
    for (PanelIndex panel = 0; panel < truth.size(); ++panel) {
      for (const Displacement place : {Displacement{10, 20}, {280, 30}, {150, 220}, {40, 200}})
        anchors.push_back({panel, place, truth[panel].to_mosaic(place), 4});
    }
    mosaic::adjust(maps, {0, 1, 2, 3, 4, 5}, {}, anchors);
    for (PanelIndex panel = 0; panel < truth.size(); ++panel) {
      CAPTURE(panel);
      CHECK(test::apart_px(maps[panel], truth[panel]) < 0.01);
      CHECK(std::abs(maps[panel].middle - truth[panel].middle) < 0.01);
    }
  }

  TEST_CASE("groups hang together, the largest first; settled maps begin at 0 with scale 1") {
    const auto groups = mosaic::groups_of(6, {{1, 3, {}}, {3, 5, {}}, {0, 4, {}}});
    REQUIRE(groups.size() == 3);
    CHECK(groups[0] == std::vector<PanelIndex>{1, 3, 5});
    CHECK(groups[1] == std::vector<PanelIndex>{0, 4});
    CHECK(groups[2] == std::vector<PanelIndex>{2});
    std::vector<PanelMap> maps = {test::turned(test::upright({100, 80}, 500, 300), 0, 2),
                                  test::turned(test::upright({100, 80}, 590, 320), 0, 2)};
    const Size size = mosaic::settle(maps, {0, 1});
    CHECK(maps[0].scale() == doctest::Approx(1));
    CHECK(maps[1].to_mosaic({0, 0}).x_px - maps[0].to_mosaic({0, 0}).x_px == doctest::Approx(45));
    CHECK(maps[0].to_mosaic({0, 0}).y_px == doctest::Approx(0).epsilon(1));
    CHECK(size.width_px >= 145);
    CHECK(size.width_px <= 147);
  }
}
