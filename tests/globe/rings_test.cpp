// Covers: globe/rings, globe/ring_fit, globe/rough_place, globe/limb_blur
#include "globe/rings.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "globe/derotate.h"
#include "globe/globe_scene.h"
#include "globe/limb_fit.h"
#include "globe/ring_fit.h"
#include "globe/rough_place.h"
#include "sky/rings.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/rings") {
  constexpr Size kSize{200, 150};
  constexpr double kDarkening = 0.85;

  GlobeShape saturn_shape(double tilt_deg, double sun_deg, double sun_tilt_deg,
                          double east_longitude_deg = 0) {
    return {54364.0 / 60268, sky::direction(east_longitude_deg * kDegree, tilt_deg * kDegree),
            sky::direction((east_longitude_deg + sun_deg) * kDegree, sun_tilt_deg * kDegree), 1.239,
            2.269};
  }

  Plane ringed(const GlobeView& view, const Surface& surface, double blur_px) {
    return drawn(view, kSize, kDarkening, surface, blur_px);
  }

  // Meeus, Astronomical Algorithms, example 45.a: on 1992 December 16 B is 16.442, and the axes of
  // the outer edge are 35.87 and 10.15 arcsec.
  TEST_CASE("the outline of the rings has the axes of Meeus' example") {
    const sky::Observer observer(parse_iso8601("1992-12-16T00:00:00").value());
    const GlobeShape shape =
        shape_of(sky::Body::saturn, sky::aspect_of(sky::Body::saturn, observer));
    const double radius_px = 100;
    const double arcsec_px =
        0.5 * sky::aspect_of(sky::Body::saturn, observer).equatorial_arcsec / radius_px;
    const GlobeView view(shape, {0, 0, radius_px, 0, false});
    double right = 0;
    double up = 0;
    for (double d = 0; d < 300; d += 0.05) {
      if (ring_at(view, d, 0)) right = d;
      if (ring_at(view, 0, d)) up = d;
    }
    CHECK(2 * right * arcsec_px == doctest::Approx(35.87).epsilon(0.006));
    CHECK(2 * up * arcsec_px == doctest::Approx(10.15).epsilon(0.006));
  }

  TEST_CASE("rings pass in front of the globe on the observer's side of its middle only") {
    // From 20 degrees north the near part of the rings is seen south of the middle, which is below.
    const GlobeView view(saturn_shape(20, 0, 20), {100, 75, 40, 0, false});
    CHECK(ring_at(view, 100, 75 + 1.6 * 40 * std::sin(20 * kDegree)));
    CHECK_FALSE(ring_at(view, 100, 75 - 1.6 * 40 * std::sin(20 * kDegree)));
    CHECK(ring_at(view, 100 + 1.8 * 40, 75));
    CHECK_FALSE(ring_at(view, 100 + 1.1 * 40, 75));
    // From the south it is the other way round.
    const GlobeView south(saturn_shape(-20, 0, -20), {100, 75, 40, 0, false});
    CHECK(ring_at(south, 100, 75 - 1.6 * 40 * std::sin(20 * kDegree)));
    // Seen edge on, they are not seen.
    const GlobeView edge(saturn_shape(0, 0, 3), {100, 75, 40, 0, false});
    CHECK_FALSE(ring_at(edge, 180, 75));
  }

  TEST_CASE("a place has the light of its zone or of the globe, and none in a shadow") {
    // Seen and lit from 20 degrees north along the same way, but for a Sun 60 degrees aside.
    const std::array zones = {kRingC, kRingB, kRingA};
    const GlobeView view(saturn_shape(20, 0, 20), {100, 75, 40, 0, false});
    const auto part_at = [&](double radii) {
      const auto place = lit_place(view, 100 + radii * 40, 75, zones, kDarkening);
      REQUIRE(place);
      CHECK(place->light == 1);
      return place->part;
    };
    CHECK(part_at(1.3) == 0);
    CHECK(part_at(1.7) == 1);
    CHECK(part_at(2.1) == 2);
    const auto middle = lit_place(view, 100, 75 - 10, zones, kDarkening);
    REQUIRE(middle);
    CHECK(middle->part == zones.size());
    const auto seen = view.seen_at(100, 75 - 10);
    CHECK(middle->light == minnaert(seen->cos_sun, seen->cos_observer, kDarkening));
    CHECK_FALSE(lit_place(view, 100, 75 - 60, zones, kDarkening));
    const GlobeView aside(saturn_shape(20, 60, 20), {100, 75, 40, 0, false});
    int dark = 0;
    for (int x = 0; x < kSize.width_px; ++x) {
      const auto ring = ring_at(aside, x, 60);
      if (!ring || ring->sun_passes > 1) continue;
      ++dark;
      CHECK_FALSE(lit_place(aside, x, 60, zones, kDarkening));
    }
    CHECK(dark > 10);
  }

  // Small steps from each place towards the Sun, through the plane and the globe.
  TEST_CASE("shadows are those of steps towards the Sun") {
    const GlobeShape shape = saturn_shape(8, 12, 14);
    const GlobeView view(shape, {100, 75, 40, 0.3, false});
    const auto meets_rings = [&](sky::Vector at) {
      for (int i = 0; i < 3000; ++i) {
        const sky::Vector next = at + shape.to_sun * 0.002;
        const double radius = std::hypot(next.at[0], next.at[1]);
        if (next.at[2] * at.at[2] <= 0 && at.at[2] != 0)
          return radius > shape.ring_inner && radius < shape.ring_outer;
        at = next;
      }
      return false;
    };
    const auto meets_globe = [&](sky::Vector at) {
      for (int i = 0; i < 3000; ++i) {
        at = at + shape.to_sun * 0.002;
        const double z = at.at[2] / shape.axis_ratio;
        if (at.at[0] * at.at[0] + at.at[1] * at.at[1] + z * z < 1) return true;
      }
      return false;
    };
    int on_globe = 0;
    int on_rings = 0;
    int wrong = 0;
    for (int y = 0; y < kSize.height_px; y += 2) {
      for (int x = 0; x < kSize.width_px; x += 2) {
        const auto seen = view.seen_at(x, y);
        const auto ring = ring_at(view, x, y);
        if (seen && !ring) {
          const bool dark = is_in_ring_shadow(shape, seen->point);
          on_globe += dark ? 1 : 0;
          if (seen->cos_sun > 0.1) wrong += dark != meets_rings(seen->point) ? 1 : 0;
        }
        if (ring) {
          const auto at = view.in_space(view.in_plane(x, y));
          const auto place = at + shape.to_observer * (-at.at[2] / shape.to_observer.at[2]);
          on_rings += ring->sun_passes < 1 ? 1 : 0;
          wrong += (ring->sun_passes < 1) != meets_globe(place) ? 1 : 0;
        }
      }
    }
    CHECK(on_globe > 10);
    CHECK(on_rings > 10);
    CHECK(wrong <= 3);  // at the very edges of shadows
  }

  struct Case {
    double tilt_deg;
    double sun_tilt_deg;
    double blur_px;
    double noise;
    double centre_px;
    double radius;
  };

  TEST_CASE("rings tell the centre and the radius, and their rough place without a start") {
    for (const Case& one :
         {Case{6, 8.5, 1.2, 0.003, 0.1, 0.001}, Case{-17, -18, 1.2, 0.003, 0.1, 0.001},
          Case{26.5, 26, 1.2, 0.003, 0.1, 0.001}, Case{26.5, 26, 3, 0.01, 0.3, 0.005}}) {
      CAPTURE(one.tilt_deg);
      CAPTURE(one.blur_px);
      const GlobeShape shape = saturn_shape(one.tilt_deg, 5, one.sun_tilt_deg);
      const GlobePlace truth{98.37, 73.81, 38.4, 0.25, false};
      Plane picture = ringed(GlobeView(shape, truth), spotted, one.blur_px);
      add_noise(picture, one.noise, 7);
      const auto rough = rough_place(picture.view(), shape, {}, Angles::unknown);
      REQUIRE(rough);
      CHECK(std::hypot(rough->x_px - truth.x_px, rough->y_px - truth.y_px) < 1.5);
      CHECK(std::abs(rough->radius_px / truth.radius_px - 1) < 0.03);
      CHECK(std::abs(rough->pole_clockwise_rad - truth.pole_clockwise_rad) < 2 * kDegree);
      GlobePlace start;
      start.radius_px = 0;
      start.pole_clockwise_rad = truth.pole_clockwise_rad;
      const auto fit = fit_limb(picture.view(), shape, start);
      REQUIRE(fit);
      CHECK(fit->by_rings);
      CAPTURE(fit->place.radius_px);
      CHECK(std::hypot(fit->place.x_px - truth.x_px, fit->place.y_px - truth.y_px) < one.centre_px);
      CHECK(std::abs(fit->place.radius_px / truth.radius_px - 1) < one.radius);
      // The angle, from 3 degrees off.
      start.pole_clockwise_rad += 3 * kDegree;
      const auto turned = fit_limb(picture.view(), shape, start, LimbSearch::angle_too);
      REQUIRE(turned);
      CHECK(std::abs(turned->place.pole_clockwise_rad - truth.pole_clockwise_rad) < 0.3 * kDegree);
    }
  }

  TEST_CASE("rings that the edge of the picture cuts tell the place too") {
    const GlobeShape shape = saturn_shape(-17, 3, -18);
    const GlobePlace truth{98.37, 73.81, 48.4, 0.25, false};
    Plane core = ringed(GlobeView(shape, truth), spotted, 1.2);
    scale(core.view(), 0.6F);
    const Plane halo = ringed(GlobeView(shape, truth), spotted, 4.8);
    Plane picture = weighted_sum(core.view(), 0.4F, halo.view());
    add_noise(picture, 0.003, 7);
    const PlaneView part = picture.view().crop({28, 0, kSize.width_px, kSize.height_px});
    GlobePlace start;
    start.radius_px = 0;
    start.pole_clockwise_rad = truth.pole_clockwise_rad;
    const auto fit = fit_limb(part, shape, start);
    REQUIRE(fit);
    CHECK(fit->by_rings);
    CAPTURE(fit->place.radius_px);
    CHECK(std::hypot(fit->place.x_px + 28 - truth.x_px, fit->place.y_px - truth.y_px) < 0.1);
    CHECK(std::abs(fit->place.radius_px / truth.radius_px - 1) < 0.002);
  }

  TEST_CASE("where rings are edge on or dark, or none are seen, the limb tells the place") {
    CHECK(tell_place(saturn_shape(8, 3, 6)));
    CHECK_FALSE(tell_place(saturn_shape(8, 3, -1)));
    CHECK_FALSE(tell_place(saturn_shape(0.5, 3, 0.6)));
    CHECK_FALSE(tell_place(jupiter_shape()));
    const GlobeShape shape = saturn_shape(15, 5, 14);
    const GlobePlace truth{98.37, 73.81, 38.4, 0.25, false};
    GlobeShape bare = shape;
    bare.ring_inner = bare.ring_outer = 0;
    const Plane picture = drawn(GlobeView(bare, truth), kSize, kDarkening, spotted, 1.2);
    GlobePlace start = truth;
    start.x_px += 1;
    start.radius_px *= 1.02;
    const auto fit = fit_limb(picture.view(), shape, start);
    REQUIRE(fit);
    CHECK_FALSE(fit->by_rings);
  }

  // From the moment t on the globe has turned, with its rings where they were.
  TEST_CASE("the globe is turned, rings and what they hide and shade stay in place") {
    constexpr double kDegPerS = 810.7939024 / 86'400;
    const auto shape_after = [](double seconds) {
      return saturn_shape(-17, 4, -19, -kDegPerS * seconds);
    };
    const GlobePlace place{98.37, 73.81, 38.4, 0.25, false};
    const GlobeView at_moment(shape_after(0), place);
    const std::vector<double> times = {-900, -450, 0, 450, 900};
    std::vector<Plane> drawings;
    std::vector<GlobePicture> pictures;
    for (const double t : times) {
      const GlobeView view(shape_after(t), place);
      drawings.push_back(ringed(view, spotted, 1));
      pictures.push_back({view, t});
    }
    for (std::size_t i = 0; i < times.size(); ++i) pictures[i].planes = {drawings[i].view()};
    const Derotated turned =
        derotate(pictures, Derotation(at_moment, kSize, sky::Body::saturn, kDarkening, {1}));
    const Plane& truth = drawings[2];
    const Plane distance = distance_from_rings(at_moment, {0, 0, kSize.width_px, kSize.height_px});
    double globe = 0;
    double smeared = 0;
    double rings = 0;
    int n_globe = 0;
    int n_rings = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const auto square = [&](const Plane& plane) {
          const double d =
              static_cast<double>(plane.row(y)[x]) - static_cast<double>(truth.row(y)[x]);
          return d * d;
        };
        const auto seen = at_moment.seen_at(x, y);
        if (distance.row(y)[x] == 0) {
          rings += square(turned.planes[0]);
          ++n_rings;
        } else if (seen && seen->cos_observer > 0.5 && distance.row(y)[x] > 5) {
          globe += square(turned.planes[0]);
          smeared += 0.5 * (square(drawings[0]) + square(drawings[4]));
          ++n_globe;
        }
      }
    }
    REQUIRE(n_globe > 500);
    REQUIRE(n_rings > 2000);
    CHECK(std::sqrt(globe / n_globe) < 0.006);
    CHECK(std::sqrt(globe) < 0.15 * std::sqrt(smeared));
    CHECK(std::sqrt(rings / n_rings) < 0.006);
    // Nothing of the rings was turned onto the globe: no place is off by much.
    double most = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        most = std::max(most, std::abs(static_cast<double>(turned.planes[0].row(y)[x]) -
                                       static_cast<double>(truth.row(y)[x])));
    }
    CHECK(most < 0.08);
  }

  // A dark globe among bright rings, turned by 50 degrees: what rings hid or shaded in that picture
  // would be seen at once.
  TEST_CASE("light and shadow of rings are not turned onto the globe") {
    constexpr double kDegPerS = 810.7939024 / 86'400;
    const auto dark = [](const sky::Vector& /*point*/) { return 0.3; };
    const auto view_after = [&](double seconds) {
      return GlobeView(saturn_shape(-24, 6, -18, -kDegPerS * seconds),
                       {98.37, 73.81, 38.4, 0.25, false});
    };
    std::vector<Plane> drawings;
    std::vector<GlobePicture> pictures;
    for (const double t : {0.0, 5400.0}) {
      drawings.push_back(ringed(view_after(t), dark, 1));
      pictures.push_back({view_after(t), t, t > 0 ? 20.0 : 1.0});
    }
    for (std::size_t i = 0; i < 2; ++i) pictures[i].planes = {drawings[i].view()};
    const Derotated turned =
        derotate(pictures, Derotation(view_after(0), kSize, sky::Body::saturn, kDarkening, {1}));
    double most = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const auto seen = view_after(0).seen_at(x, y);
        if (seen && seen->cos_observer > 0.45)
          most = std::max(most, std::abs(static_cast<double>(turned.planes[0].row(y)[x]) -
                                         static_cast<double>(drawings[0].row(y)[x])));
      }
    }
    CHECK(most < 0.06);
  }
}
