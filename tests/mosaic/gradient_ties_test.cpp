// Covers: mosaic/gradient_ties, mosaic/gradient_cell, mosaic/part_detail, mosaic/places
#include "mosaic/gradient_ties.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "merge/detail.h"
#include "mosaic/bend_panels.h"
#include "mosaic/panels.h"
#include "mosaic/part_detail.h"
#include "mosaic/places.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kPanel{400, 300};

mosaic::Readable noisy(Plane light, float gain, double noise, std::uint32_t seed) {
  scale(light.view(), gain);
  test::add_noise(light.view(), noise, seed);
  return mosaic::readable(test::gray(std::move(light)));
}

Plane blurred(Plane light, double sigma_px) {
  return sigma_px > 0 ? merge::blurred(light.view(), sigma_px) : std::move(light);
}

// How far two panels are from meeting where both lie, rms.
double apart_px(const std::vector<mosaic::PanelMap>& maps,
                const std::vector<mosaic::PanelMap>& truth) {
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
}

}  // namespace

TEST_SUITE("mosaic/gradient_ties") {
  TEST_CASE("bends of short waves are followed, in panels of another gain, blur and noise") {
    struct Air {
      double blur_px;
      double noise;
      double most_px;  // of what is left; the bends are 1.2 px
    };

    // In the second, noise drowns what is left of fine detail.
    for (const Air& air : {Air{0, 0.005, 0.12}, Air{3.5, 0.006, 0.6}}) {
      CAPTURE(air.blur_px);
      const align::SplinePlane ground(test::rough_ground({700, 320}, 8).view());
      std::vector<mosaic::PanelMap> maps = {test::upright(kPanel, 0, 5),
                                            test::turned(test::upright(kPanel, 160, 10), 179.2)};
      std::vector<mosaic::PanelMap> truth = maps;
      test::bend_in_waves(truth[0], 0.9, 0.4);
      test::bend_in_waves(truth[1], 0.9, 1.9);
      const auto a = noisy(blurred(test::seen_by(truth[0], ground), air.blur_px), 1, air.noise, 31);
      const auto b =
          noisy(blurred(test::seen_by(truth[1], ground), 1.2 * air.blur_px), 0.9F, air.noise, 32);
      CHECK(apart_px(maps, truth) > 0.8);
      for (const mosaic::Grains grains :
           {mosaic::Grains::coarse, mosaic::Grains::both, mosaic::Grains::both}) {
        const mosaic::Link link{0, 1, mosaic::gradient_ties(a, maps[0], b, maps[1], grains)};
        CHECK(link.ties.size() > 30);
        mosaic::bend_panels(maps, {0, 1}, {link}, {});
      }
      CHECK(apart_px(maps, truth) < air.most_px);
    }
  }

  TEST_CASE("an edge that is sharper in one panel is no displacement of the ground beside it") {
    const align::SplinePlane ground(test::rough_ground({400, 300}, 8).view());
    const mosaic::PanelMap map = test::upright(kPanel, 0, 0);
    const auto seen = [&](double blur_px, std::uint32_t seed) {
      Plane light = test::seen_by(map, ground);
      for (int y = 0; y < light.height(); ++y) {
        for (int x = 0; x < light.width(); ++x)
          light.row(y)[x] = x < 250 ? 0.5F + 0.05F * light.row(y)[x] : 0;
      }
      return noisy(blurred(std::move(light), blur_px), 1, 1e-3, seed);
    };
    const auto ties =
        mosaic::gradient_ties(seen(2, 8), map, seen(2.6, 9), map, mosaic::Grains::both);
    double chi2 = 0;
    double weight = 0;
    for (const mosaic::Tie& tie : ties) {
      if (tie.first.x_px < 226 || tie.first.x_px > 274) continue;
      chi2 += tie.weight.xx * std::pow(tie.first.x_px - tie.second.x_px, 2);
      weight += tie.weight.xx;
    }
    REQUIRE(weight > 0);
    CHECK(std::sqrt(chi2 / weight) < 0.25);
  }

  TEST_CASE("detail of parts is that of merge::detail_of") {
    const Plane ground = test::rough_ground({168, 168}, 8);
    mosaic::PartDetail parts(ground.size());
    parts.show(ground.view());
    for (const double fine_px : {1.5, 3.0}) {
      const Plane own = parts.between(fine_px, 2.5 * fine_px);
      const Plane whole = merge::detail_of(ground.view(), fine_px, 2.5 * fine_px);
      double most = 0;
      double all = 0;
      for (int y = 20; y < 148; ++y) {
        for (int x = 20; x < 148; ++x) {
          const auto off = static_cast<double>(own.row(y)[x] - whole.row(y)[x]);
          most = std::max(most, std::abs(off));
          all = std::max(all, static_cast<double>(std::abs(whole.row(y)[x])));
        }
      }
      CHECK(most < 0.01 * all);
    }
  }

  TEST_CASE("detail in one direction tells nothing along it; noise and an empty sky nothing") {
    Plane stripes(kPanel);
    for (int y = 0; y < stripes.height(); ++y)
      for (int x = 0; x < stripes.width(); ++x)
        stripes.row(y)[x] = 0.5F + 0.2F * std::sin(0.5F * static_cast<float>(x));
    const mosaic::PanelMap map = test::upright(kPanel, 0, 0);
    const auto a = noisy(Plane::copy_of(stripes.view()), 1, 1e-4, 4);
    const auto b = noisy(Plane::copy_of(stripes.view()), 1, 1e-4, 5);
    const auto ties = mosaic::gradient_ties(a, map, b, map, mosaic::Grains::both);
    CHECK(ties.size() > 300);
    for (const auto& tie : ties) CHECK(tie.weight.yy < 0.01 * tie.weight.xx);
    const auto c = noisy(Plane(kPanel), 1, 0.01, 6);
    const auto d = noisy(Plane(kPanel), 1, 0.01, 7);
    CHECK(mosaic::gradient_ties(c, map, d, map, mosaic::Grains::both).size() <
          0.1 * static_cast<double>(ties.size()));
    const auto sky = mosaic::readable(test::gray(Plane(kPanel)));
    CHECK(mosaic::gradient_ties(sky, map, sky, map, mosaic::Grains::both).empty());
  }

  TEST_CASE("places between the nodes are those of the map") {
    mosaic::PanelMap map = test::turned(test::upright(kPanel, 12, 7), 31, 1.02);
    map.distortion = 0.002;
    test::bend_in_waves(map, 0.9, 0.8);
    const Displacement origin{40.5, 61};
    const mosaic::Places places(map, origin, {67, 45});
    std::vector<Displacement> row(67);
    for (int y = 0; y < 45; y += 4) {
      places.row(y, row);
      for (int x = 0; x < 67; x += 3) {
        const Displacement wanted =
            map.to_panel(origin + Displacement{static_cast<double>(x), static_cast<double>(y)});
        const Displacement found = row[static_cast<std::size_t>(x)] - wanted;
        CHECK(std::hypot(found.x_px, found.y_px) < 0.08);
      }
    }
  }
}
