#include "mosaic/blend.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "mosaic/panels.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kWhole{760, 620};
constexpr Size kPart{440, 360};

mosaic::Blending plan_of_four() {
  mosaic::Blending plan;
  plan.mosaic = kWhole;
  plan.maps = {test::upright(kPart, 0, 0), test::turned(test::upright(kPart, 320, 2), 180),
               test::upright(kPart, 3, 258), test::turned(test::upright(kPart, 316, 255), 1.5)};
  plan.group = {0, 1, 2, 3};
  plan.brightness = {std::vector<mosaic::Brightness>(4)};
  plan.has_halves = true;
  return plan;
}

struct Whole {
  Plane light{kWhole};
  Plane noise{kWhole};
  Plane covered{kWhole};
};

std::shared_ptr<mosaic::Sheet> sheet_of(const Plane& light, const Plane& noise) {
  auto sheet = std::make_shared<mosaic::Sheet>();
  sheet->size = light.size();
  mosaic::Sheet::Channel channel{align::SplinePlane(light.view()), {}, 10, -10};
  channel.noise.emplace_back(noise.view());
  sheet->channels.push_back(std::move(channel));
  return sheet;
}

// @param noise  of the half stacks; 0: that of the light itself.
Whole blended(const mosaic::Blending& plan, const std::vector<Plane>& light,
              const std::vector<Plane>& noise) {
  Whole out;
  const auto put = [](const Plane& tile, const Box& box, Plane& to) {
    for (int y = 0; y < tile.height(); ++y)
      std::copy(tile.row(y), tile.row(y) + tile.width(), to.row(box.y0 + y) + box.x0);
  };
  mosaic::blend(
      plan, [&](mosaic::PanelIndex panel) { return sheet_of(light[panel], noise[panel]); },
      [&](const mosaic::Tile& tile) {
        put(tile.channels.front().light, tile.box, out.light);
        put(tile.channels.front().noise, tile.box, out.noise);
        put(tile.covered, tile.box, out.covered);
      },
      {});
  return out;
}

}  // namespace

TEST_SUITE("mosaic/blend") {
  TEST_CASE("panels that agree give the ground itself; what none shows is 0") {
    const Plane ground = test::rough_ground(kWhole, 17);
    const align::SplinePlane spline(ground.view());
    const mosaic::Blending plan = plan_of_four();
    std::vector<Plane> light;
    for (const auto& map : plan.maps) light.push_back(test::seen_by(map, spline));
    const Whole whole = blended(plan, light, light);
    std::int64_t shown = 0;
    double worst = 0;
    for (int y = 0; y < kWhole.height_px; ++y) {
      for (int x = 0; x < kWhole.width_px; ++x) {
        if (whole.covered.row(y)[x] == 0) {
          CHECK(whole.light.row(y)[x] == 0);
          continue;
        }
        ++shown;
        worst = std::max(worst,
                         std::abs(static_cast<double>(whole.light.row(y)[x] - ground.row(y)[x])));
      }
    }
    CHECK(shown > 0.93 * static_cast<double>(kWhole.area_px()));
    CHECK(worst < 0.02);  // of a ground from 0.3 to 0.7, through the interpolation of turned panels
  }

  TEST_CASE("half stacks stay honest: the noise of the mosaic is the mosaic of the noise") {
    const mosaic::Blending plan = plan_of_four();
    std::vector<Plane> light;
    std::vector<Plane> noise;
    std::vector<Plane> half;
    for (std::size_t i = 0; i < 4; ++i) {
      light.emplace_back(kPart);
      noise.emplace_back(kPart);
      test::add_noise(light.back().view(), 0.1, 40 + static_cast<std::uint32_t>(i));
      test::add_noise(noise.back().view(), 0.1, 80 + static_cast<std::uint32_t>(i));
      half.push_back(weighted_sum(light.back().view(), 1, noise.back().view()));
    }
    const Whole both = blended(plan, light, noise);
    const Whole first = blended(plan, half, noise);
    for (int y = 0; y < kWhole.height_px; y += 7)
      for (int x = 0; x < kWhole.width_px; x += 5)
        CHECK(static_cast<double>(both.light.row(y)[x] + both.noise.row(y)[x]) ==
              doctest::Approx(static_cast<double>(first.light.row(y)[x])).epsilon(1e-4));
  }

  TEST_CASE("a difference of light goes over through the whole overlap, without a step") {
    mosaic::Blending plan = plan_of_four();
    plan.maps = {test::upright(kPart, 0, 0), test::upright(kPart, 320, 0)};
    plan.group = {0, 1};
    plan.brightness = {std::vector<mosaic::Brightness>(2)};
    std::vector<Plane> light;
    for (const float value : {0.50F, 0.52F}) {
      light.emplace_back(kPart);
      light.back().fill(value);
    }
    const Whole whole = blended(plan, light, light);
    double steepest = 0;
    for (int x = 4; x < 750; ++x) {
      const double step =
          static_cast<double>(whole.light.row(180)[x + 1] - whole.light.row(180)[x]);
      CHECK(step > -1e-6);
      steepest = std::max(steepest, step);
    }
    CHECK(whole.light.row(180)[310] == doctest::Approx(0.5));
    CHECK(whole.light.row(180)[450] == doctest::Approx(0.52));
    CHECK(steepest < 0.0006);  // 0.02 over 120 px, by hand 0.00017; a step would be 0.02
  }

  TEST_CASE("every place of a large mosaic comes once, and neighbours come soon") {
    mosaic::Blending plan = plan_of_four();
    plan.mosaic = {6200, 4500};  // most of it shows nothing, which takes no time
    Plane seen(plan.mosaic);
    Box before{0, 0, 0, 0};
    int far = 0;
    int tiles = 0;
    std::vector<Plane> light;
    for (int i = 0; i < 4; ++i) light.emplace_back(kPart);
    mosaic::blend(
        plan, [&](mosaic::PanelIndex panel) { return sheet_of(light[panel], light[panel]); },
        [&](const mosaic::Tile& tile) {
          const Box& box = tile.box;
          for (int y = box.y0; y < box.y1; ++y)
            for (int x = box.x0; x < box.x1; ++x) seen.row(y)[x] += 1;
          if (tiles++ > 0 && std::hypot(box.x0 - before.x0, box.y0 - before.y0) > 4000) ++far;
          before = box;
        },
        {});
    CHECK(tiles == 13 * 9);  // of 512 px
    CHECK(far == 0);
    bool once = true;
    for (int y = 0; y < seen.height(); ++y)
      once = once && std::all_of(seen.row(y), seen.row(y) + seen.width(),
                                 [](float count) { return count == 1; });
    CHECK(once);
  }
}
