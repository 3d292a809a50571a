#include "mosaic/panel_map.h"

#include <doctest/doctest.h>

#include <cmath>
#include <opencv2/calib3d.hpp>

#include "mosaic/panels.h"

using namespace lull;

TEST_SUITE("mosaic/panel_map") {
  TEST_CASE("the way back to the panel undoes distortion, bend, turn and scale") {
    mosaic::PanelMap map = test::turned(test::upright({300, 200}, 40, -25), 171, 1.03);
    map.distortion = 0.004;
    map.bend = mosaic::Bend(map.panel);
    for (std::size_t i = 0; i < map.bend.nodes.size(); ++i)
      map.bend.nodes[i] = {1.5 * std::sin(static_cast<double>(i)),
                           std::cos(2.0 * static_cast<double>(i))};
    for (double y = 0; y < 200; y += 19.5) {
      for (double x = 0; x < 300; x += 17.25) {
        const Displacement back = map.to_panel(map.to_mosaic({x, y}));
        CHECK(std::hypot(back.x_px - x, back.y_px - y) < 1e-3);
      }
    }
  }

  // OpenCV's model of a lens: x (1 + k1 r^2), r in focal lengths; its similarity by hand.
  TEST_CASE("the radial distortion is that of OpenCV's projectPoints") {
    mosaic::PanelMap map = test::upright({401, 301}, 0, 0);
    map.distortion = -0.01;
    const double corner = std::hypot(200.0, 150.0);
    const std::vector<cv::Point3d> places = {
        {-200, -150, corner}, {37, 90, corner}, {200, 0, corner}};
    const cv::Matx33d camera(corner, 0, 200, 0, corner, 150, 0, 0, 1);
    std::vector<cv::Point2d> seen;
    cv::projectPoints(places, cv::Vec3d(), cv::Vec3d(), camera, std::vector<double>{-0.01, 0, 0, 0},
                      seen);
    for (std::size_t i = 0; i < places.size(); ++i) {
      const Displacement at = map.to_mosaic({places[i].x + 200, places[i].y + 150});
      CHECK(at.x_px == doctest::Approx(seen[i].x).epsilon(1e-9));
      CHECK(at.y_px == doctest::Approx(seen[i].y).epsilon(1e-9));
    }
  }

  TEST_CASE("a bend is bilinear between its nodes, and goes on beyond the edges") {
    mosaic::Bend bend({65, 35});
    REQUIRE(bend.columns() == 5);  // a node every 16 px
    REQUIRE(bend.rows() == 4);
    bend.nodes[0] = {1, 0};
    bend.nodes[1] = {3, 0};
    bend.nodes[5] = {5, 8};
    CHECK(bend.at({8, 0}).x_px == doctest::Approx(2));
    CHECK(bend.at({4, 8}).x_px == doctest::Approx(0.5 * 1.5 + 0.5 * 0.75 * 5));
    CHECK(bend.at({-20, -9}).x_px == doctest::Approx(1));
    CHECK(mosaic::Bend().at({5, 5}).x_px == 0);
  }

  TEST_CASE("the outline holds every pixel of the panel") {
    const mosaic::PanelMap map = test::turned(test::upright({100, 60}, 10, 20), 30);
    const Box box = mosaic::outline(map);
    for (int y = 0; y < 60; y += 59) {
      for (int x = 0; x < 100; x += 99) {
        const Displacement at = map.to_mosaic({static_cast<double>(x), static_cast<double>(y)});
        CHECK(at.x_px >= box.x0);
        CHECK(at.x_px <= box.x1 - 1);
        CHECK(at.y_px >= box.y0);
        CHECK(at.y_px <= box.y1 - 1);
      }
    }
    CHECK(box.width_px() < 122);
  }
}
