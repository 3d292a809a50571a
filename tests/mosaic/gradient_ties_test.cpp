// Covers: mosaic/gradient_ties, mosaic/places
#include "mosaic/gradient_ties.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "mosaic/bend_panels.h"
#include "mosaic/panels.h"
#include "mosaic/places.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kPanel{400, 300};

// What the air does: waves of 150 px.
void bend(mosaic::PanelMap& map, double phase) {
  map.bend = mosaic::Bend(map.panel);
  for (int r = 0; r < map.bend.rows(); ++r) {
    for (int c = 0; c < map.bend.columns(); ++c) {
      const double at = 2 * std::numbers::pi * (c + 0.7 * r) * mosaic::Bend::kNodePx / 150;
      map.bend.nodes[static_cast<std::size_t>(r * map.bend.columns() + c)] = {
          0.9 * std::sin(at + phase), 0.8 * std::cos(at + 2 * phase)};
    }
  }
}

mosaic::Readable noisy(Plane light, float gain, double noise, std::uint32_t seed) {
  scale(light.view(), gain);
  test::add_noise(light.view(), noise, seed);
  return mosaic::readable(test::gray(std::move(light)));
}

}  // namespace

TEST_SUITE("mosaic/gradient_ties") {
  TEST_CASE("bends of short waves are followed, in panels of another gain and noise") {
    const align::SplinePlane ground(test::rough_ground({700, 320}, 8).view());
    std::vector<mosaic::PanelMap> maps = {test::upright(kPanel, 0, 5),
                                          test::turned(test::upright(kPanel, 160, 10), 179.2)};
    std::vector<mosaic::PanelMap> truth = maps;
    bend(truth[0], 0.4);
    bend(truth[1], 1.9);
    const auto a = noisy(test::seen_by(truth[0], ground), 1.0F, 0.005, 31);
    const auto b = noisy(test::seen_by(truth[1], ground), 0.9F, 0.005, 32);
    const auto rms_px = [&] {
      double sum = 0;
      int count = 0;
      for (double y = 20; y < 290; y += 12) {
        for (double x = 175; x < 390; x += 12) {
          const Displacement p = maps[0].to_panel({x, y});
          const Displacement q = maps[1].to_panel({x, y});
          const Displacement off = truth[0].to_mosaic(p) - truth[1].to_mosaic(q);
          sum += off.x_px * off.x_px + off.y_px * off.y_px;
          ++count;
        }
      }
      return std::sqrt(sum / count);
    };
    CHECK(rms_px() > 0.8);
    for (int round = 0; round < 2; ++round) {
      const mosaic::Link link{0, 1, mosaic::gradient_ties(a, maps[0], b, maps[1])};
      CHECK(link.ties.size() > 150);
      mosaic::bend_panels(maps, {0, 1}, {link}, {});
    }
    CHECK(rms_px() < 0.12);
  }

  TEST_CASE("detail in one direction tells nothing along it; noise and an empty sky nothing") {
    Plane stripes(kPanel);
    for (int y = 0; y < stripes.height(); ++y)
      for (int x = 0; x < stripes.width(); ++x)
        stripes.row(y)[x] = 0.5F + 0.2F * std::sin(0.5F * static_cast<float>(x));
    const mosaic::PanelMap map = test::upright(kPanel, 0, 0);
    const auto a = noisy(Plane::copy_of(stripes.view()), 1, 1e-4, 4);
    const auto b = noisy(Plane::copy_of(stripes.view()), 1, 1e-4, 5);
    const auto ties = mosaic::gradient_ties(a, map, b, map);
    CHECK(ties.size() > 300);
    for (const auto& tie : ties) CHECK(tie.weight.yy < 0.01 * tie.weight.xx);
    const auto c = noisy(Plane(kPanel), 1, 0.01, 6);
    const auto d = noisy(Plane(kPanel), 1, 0.01, 7);
    CHECK(mosaic::gradient_ties(c, map, d, map).size() < 0.1 * static_cast<double>(ties.size()));
    const auto sky = mosaic::readable(test::gray(Plane(kPanel)));
    CHECK(mosaic::gradient_ties(sky, map, sky, map).empty());
  }

  TEST_CASE("places between the nodes are those of the map") {
    mosaic::PanelMap map = test::turned(test::upright(kPanel, 12, 7), 31, 1.02);
    map.distortion = 0.002;
    bend(map, 0.8);
    const Displacement origin{40.5, 61};
    const mosaic::Places places(map, origin, {67, 45});
    for (int y = 0; y < 45; y += 4) {
      for (int x = 0; x < 67; x += 3) {
        const Displacement wanted =
            map.to_panel(origin + Displacement{static_cast<double>(x), static_cast<double>(y)});
        CHECK(std::hypot(places.at(x, y).x_px - wanted.x_px, places.at(x, y).y_px - wanted.y_px) <
              0.08);
      }
    }
  }
}
