#include "globe/globe_view.h"

#include "globe/globe_scene.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/globe_view") {
  TEST_CASE("a pixel's point lies in that pixel, on a tilted, turned and mirrored globe") {
    for (const bool mirrored : {false, true}) {
      const GlobeView view(jupiter_shape(70), {100.3, 80.7, 60, 0.7, mirrored});
      int on_globe = 0;
      for (int y = 0; y < 160; y += 3) {
        for (int x = 0; x < 200; x += 3) {
          const auto seen = view.seen_at(x, y);
          if (!seen) continue;
          ++on_globe;
          const auto shown = view.shown(seen->point);
          CHECK(std::abs(shown.x_px - x) < 1e-9);
          CHECK(std::abs(shown.y_px - y) < 1e-9);
          CHECK(std::abs(shown.cos_observer - seen->cos_observer) < 1e-12);
          // On the ellipsoid.
          const auto& p = seen->point.at;
          const double q = 66854.0 / 71492;
          CHECK(std::abs(p[0] * p[0] + p[1] * p[1] + p[2] * p[2] / (q * q) - 1) < 1e-9);
        }
      }
      CHECK(on_globe > 1000);
    }
  }

  // With north up and no mirror, a planet's east is to the right, as on a map (on the sky that is
  // the west).
  TEST_CASE("the pole is up, and what is further east is further right") {
    const GlobeView view({1, sky::direction(0, 0), sky::direction(0, 0)}, {0, 0, 100, 0, false});
    CHECK(view.shown({{0, 0, 1}}).y_px == doctest::Approx(-100));
    CHECK(view.shown(sky::direction(30 * kDegree, 0)).x_px == doctest::Approx(50));
    const GlobeView turned({1, sky::direction(0, 0), sky::direction(0, 0)},
                           {0, 0, 100, 90 * kDegree, false});
    CHECK(turned.shown({{0, 0, 1}}).x_px == doctest::Approx(100));  // clockwise: to the right
    const GlobeView mirrored({1, sky::direction(0, 0), sky::direction(0, 0)}, {0, 0, 100, 0, true});
    CHECK(mirrored.shown(sky::direction(30 * kDegree, 0)).x_px == doctest::Approx(-50));
  }

  TEST_CASE("the far side is told from the near one, and the night from the day") {
    const GlobeView view(jupiter_shape(0, 90), {0, 0, 100, 0, false});
    CHECK(view.shown(sky::direction(170 * kDegree, 0)).cos_observer < 0);
    CHECK(view.shown(sky::direction(80 * kDegree, 0)).cos_sun > 0.9);
    CHECK(view.shown(sky::direction(-80 * kDegree, 0)).cos_sun < 0);
    CHECK_FALSE(view.seen_at(101, 0));
  }

  // The outline of an ellipsoid seen from latitude B: sqrt(sin^2 B + q^2 cos^2 B) high.
  TEST_CASE("the outline is the ellipse that the tilt leaves") {
    const double tilt = 26 * kDegree;
    const GlobeView view({0.9, sky::direction(0, tilt), sky::direction(0, tilt)},
                         {0, 0, 1000, 0, false});
    const double height = 1000 * std::hypot(std::sin(tilt), 0.9 * std::cos(tilt));
    CHECK(view.seen_at(0, height - 0.01));
    CHECK_FALSE(view.seen_at(0, height + 0.01));
    CHECK(view.seen_at(999.99, 0));
  }

  TEST_CASE("planetographic latitudes, motion eastward, Minnaert's law") {
    const sky::Vector p = sky::direction(10 * kDegree, 30 * kDegree);
    CHECK(moved_east(p, 20 * kDegree).longitude_rad() == doctest::Approx(30 * kDegree));
    CHECK(std::tan(planetographic_latitude_rad(p, 0.9)) ==
          doctest::Approx(std::tan(30 * kDegree) / 0.81));
    CHECK(minnaert(0.5, 0.5, 1) == doctest::Approx(0.5));  // Lambert
    CHECK(minnaert(0.5, 0.5, 0.5) == doctest::Approx(1));  // as the full Moon
    CHECK(minnaert(-0.1, 0.5, 1) == 0);
  }

  // Meeus' example 43.a: De -2.48, and longitudes of System III grow westward.
  TEST_CASE("a globe of the sky faces its central meridian") {
    const sky::Aspect aspect =
        sky::aspect_of(sky::Body::jupiter, sky::Observer(sky::utc_of(1992, 12, 16)));
    const GlobeShape shape = shape_of(sky::Body::jupiter, aspect);
    CHECK(std::abs(shape.to_observer.latitude_rad() / kDegree + 2.48) < 0.02);
    CHECK(std::abs(sky::half_turn(shape.to_observer.longitude_rad() / kDegree +
                                  aspect.below_observer.longitude_deg)) < 1e-9);
    CHECK(std::abs(sky::angle_between(shape.to_observer, shape.to_sun) / kDegree -
                   aspect.phase_deg) < 1e-9);
  }
}
