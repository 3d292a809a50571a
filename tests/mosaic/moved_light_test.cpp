#include "mosaic/moved_light.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

#include "mosaic/blend.h"
#include "mosaic/panels.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kMovedPart{640, 400};
constexpr Size kMovedWhole{1040, 400};  // 240 px of both
constexpr double kBrightness = 1.04;

// A shadow of 40 x 90 px in the overlap, whose place depends on the moment.
Plane ground_at(double shadow_x, double shadow_y) {
  Plane out = test::rough_ground(kMovedWhole, 31);
  for (int y = 0; y < kMovedWhole.height_px; ++y) {
    for (int x = 0; x < kMovedWhole.width_px; ++x) {
      const double off = std::max(std::abs(x - shadow_x) - 20, std::abs(y - shadow_y) - 45);
      out.row(y)[x] *= static_cast<float>(0.03 + 0.97 * std::clamp(off / 2 + 0.5, 0.0, 1.0));
    }
  }
  return out;
}

struct TwoPanels {
  std::vector<mosaic::PanelMap> maps = {test::upright(kMovedPart, 0, 0),
                                        test::turned(test::upright(kMovedPart, 400, 0), 180)};
  std::vector<mosaic::Link> links = {{0, 1, {}}};
  std::vector<std::vector<mosaic::Brightness>> brightness = {
      {{1, 0, 0, 0}, {1 / kBrightness, 0, 0, 0}}};
  std::vector<Plane> seen;
  std::vector<mosaic::Sketch> sketches;

  TwoPanels(const Plane& first, const Plane& second) {
    seen.push_back(test::seen_by(maps[0], align::SplinePlane(first.view())));
    seen.push_back(test::seen_by(maps[1], align::SplinePlane(second.view())));
    scale(seen[1].view(), static_cast<float>(kBrightness));
    for (std::size_t i = 0; i < 2; ++i) {
      test::add_noise(seen[i].view(), 0.005, 50 + static_cast<std::uint32_t>(i));
      sketches.push_back(mosaic::sketch_of(test::gray(Plane::copy_of(seen[i].view()))));
    }
  }

  [[nodiscard]] mosaic::MovedLight moved() const {
    return mosaic::moved_light(kMovedWhole, sketches, maps, links, brightness);
  }

  [[nodiscard]] Plane blended(mosaic::MovedLight moved) const {
    mosaic::Blending plan;
    plan.mosaic = kMovedWhole;
    plan.maps = maps;
    plan.group = {0, 1};
    plan.brightness = brightness;
    plan.moved = std::move(moved);
    Plane out(kMovedWhole);
    mosaic::blend(
        plan,
        [&](mosaic::PanelIndex panel) {
          auto sheet = std::make_shared<mosaic::Sheet>();
          sheet->size = kMovedPart;
          sheet->channels.push_back({align::SplinePlane(seen[panel].view()), {}, 10, -10});
          return sheet;
        },
        [&](const mosaic::Tile& tile) {
          const Plane& light = tile.channels.front().light;
          for (int y = 0; y < light.height(); ++y)
            std::copy(light.row(y), light.row(y) + light.width(),
                      out.row(tile.box.y0 + y) + tile.box.x0);
        },
        {});
    return out;
  }
};

// Around both shadows.
double rms_off(const Plane& picture, const Plane& truth) {
  double squares = 0;
  int count = 0;
  for (int y = 90; y < 310; ++y) {
    for (int x = 430; x < 610; ++x) {
      const double d = static_cast<double>(picture.row(y)[x] - truth.row(y)[x]);
      squares += d * d;
      ++count;
    }
  }
  return std::sqrt(squares / count);
}

}  // namespace

TEST_SUITE("mosaic/moved_light") {
  TEST_CASE("a shadow that moved is shown once: of the panel that shows it deepest inside") {
    const Plane first = ground_at(480, 200);
    const Plane second = ground_at(516, 210);  // the middle of the overlap is at 520
    const TwoPanels panels(first, second);
    const mosaic::MovedLight moved = panels.moved();
    REQUIRE(moved.overlaps.size() == 1);
    CHECK(moved.overlaps[0].share > 0.02);
    CHECK(moved.overlaps[0].share < 0.3);
    REQUIRE_FALSE(moved.places.empty());
    CHECK(moved.places[0].x0 < 480);
    CHECK(moved.places[0].x1 > 516);
    const double with = rms_off(panels.blended(moved), first);
    const double without = rms_off(panels.blended({}), first);
    CAPTURE(with);
    CAPTURE(without);
    CHECK(with < 0.01);  // noise is 0.005, interpolation besides
    CHECK(without > 0.02);
  }

  TEST_CASE("what no one owns goes over through the whole overlap as before") {
    const Plane first = ground_at(480, 200);
    const TwoPanels panels(first, ground_at(516, 210));
    const mosaic::MovedLight moved = panels.moved();
    const Plane with = panels.blended(moved);
    const Plane without = panels.blended({});
    bool same = true;
    for (int y = 380; y < 400; ++y)  // farther than the bands reach

      same = same && std::equal(with.row(y), with.row(y) + kMovedWhole.width_px, without.row(y));
    CHECK(same);
  }

  TEST_CASE("cloud, blur and noise are no shadows that move") {
    const Plane ground = ground_at(500, 290);
    Plane other = Plane::copy_of(ground.view());
    for (int y = 0; y < kMovedWhole.height_px; ++y)
      for (int x = 0; x < kMovedWhole.width_px; ++x)
        other.row(y)[x] *=
            static_cast<float>(1 - 0.15 * std::exp(-0.5 * std::pow((y - 120) / 40.0, 2)));
    const TwoPanels panels(ground, other);
    const mosaic::MovedLight moved = panels.moved();
    CHECK(moved.overlaps.empty());
    CHECK(moved.empty());
    CHECK(moved.preference(0, {0, 0, 10, 10}).empty());
  }

  TEST_CASE("a preference is 1 inside and 0 outside, and the same whatever box is asked for") {
    mosaic::MovedLight moved;
    moved.columns = 20;
    moved.rows = 20;
    moved.owners.assign(400, mosaic::MovedLight::kNobody);
    for (int y = 6; y < 14; ++y)
      for (int x = 6; x < 14; ++x) moved.owners[static_cast<std::size_t>(y * 20 + x)] = 3;
    const Plane all = moved.preference(3, {-48, -48, 208, 208});
    CHECK(all.row(48 + 80)[48 + 80] == doctest::Approx(1));
    CHECK(all.row(48 + 80)[48 + 16] == 0);
    CHECK(all.row(48 + 80)[48 + 47] == doctest::Approx(0.5).epsilon(0.15));
    const Plane part = moved.preference(3, {30, 41, 93, 77});
    for (int y = 0; y < part.height(); ++y)
      for (int x = 0; x < part.width(); ++x)
        CHECK(
            part.row(y)[x] ==
            doctest::Approx(static_cast<double>(all.row(48 + 41 + y)[48 + 30 + x])).epsilon(1e-6));
    CHECK(moved.preference(2, {0, 0, 160, 160}).empty());
  }
}
