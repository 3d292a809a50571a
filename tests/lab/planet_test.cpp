// The lab's planet is drawn by formulas of its own. It is held against the ephemeris of src/sky,
// the geometry and the map of src/globe, and PyEphem.
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "core/reduced.h"
#include "core/statistics.h"
#include "core/utc.h"
#include "globe/globe_map.h"
#include "lab/scene.h"
#include "sky/aspect.h"
#include "support/detail_shift.h"

using namespace lull;

TEST_SUITE("lab/planet") {
  namespace {

  constexpr double kRadius_px = 80;
  constexpr double kNorth_deg = 25;

  lab::Parameters planet_of(const std::string& name, const std::string& utc) {
    lab::Parameters p;
    p.scene.kind = "planet";
    p.scene.planet = name;
    p.scene.utc = utc;
    p.scene.radius_px = kRadius_px;
    p.scene.north_deg = kNorth_deg;
    p.scene.limb_darkening = 0.8;
    p.scene.centre_x_px = 1.3;
    p.scene.centre_y_px = -0.6;
    p.width_px = 200;
    p.height_px = 196;
    return p;
  }

  // Means over 3 x 3 px, twice: about what optics do.
  Plane blurred(const Plane& plane) {
    Plane from = Plane::copy_of(plane.view());
    for (int pass = 0; pass < 2; ++pass) {
      Plane out(from.size());
      for (int y = 1; y + 1 < out.height(); ++y) {
        for (int x = 1; x + 1 < out.width(); ++x) {
          float sum = 0;
          for (int i = 0; i < 9; ++i) sum += from.row(y + i / 3 - 1)[x + i % 3 - 1];
          out.row(y)[x] = sum / 9;
        }
      }
      from = std::move(out);
    }
    return from;
  }

  Plane drawn(const lab::Parameters& p, const lab::CoverMap& cover, double since_s) {
    constexpr int kFine = 3;
    const lab::Canvas canvas{p.width_px, p.height_px, 0, kFine};
    return reduced(lab::planet(p, cover, canvas, since_s).front().view(), kFine);
  }

  sky::Body body_of(const lab::Parameters& p) { return sky::body_of_name(p.scene.planet).value(); }

  sky::Aspect aspect_of(const lab::Parameters& p, double since_s) {
    return sky::aspect_of(body_of(p),
                          sky::Observer(after(parse_iso8601(p.scene.utc).value(), since_s)));
  }

  globe::GlobePlace place_of(const lab::Parameters& p, const sky::Aspect& aspect) {
    return {0.5 * (p.width_px - 1) + p.scene.centre_x_px,
            0.5 * (p.height_px - 1) + p.scene.centre_y_px, kRadius_px,
            (kNorth_deg - aspect.pole_deg) * sky::kDegree};
  }

  }  // namespace

  TEST_CASE("what is lit is what the ephemeris and the globe's geometry light") {
    for (const char* name : {"jupiter", "mars", "uranus"}) {
      CAPTURE(std::string(name));
      const lab::Parameters p = planet_of(name, "2026-11-30T04:00:00");
      const sky::Aspect aspect = aspect_of(p, 0);
      const globe::GlobeView view(globe::shape_of(body_of(p), aspect), place_of(p, aspect));
      const Plane picture = drawn(p, lab::CoverMap(p.scene, 5), 0);
      int lit = 0;
      int other = 0;
      for (int y = 0; y < picture.height(); ++y) {
        for (int x = 0; x < picture.width(); ++x) {
          int seen = 0;  // of 5 x 5 places in the pixel
          for (int i = 0; i < 25; ++i) {
            const auto at = view.seen_at(x + 0.2 * (i % 5 - 2), y + 0.2 * (i / 5 - 2));
            seen += at && at->cos_sun > 0 ? 1 : 0;
          }
          lit += seen > 0 ? 1 : 0;
          const bool drawn_light = picture.row(y)[x] > 0;
          other += (seen == 25 && !drawn_light) || (seen == 0 && drawn_light) ? 1 : 0;
        }
      }
      CHECK(lit > 10'000);
      CHECK(other < 0.003 * lit);
    }
  }

  // PyEphem's phases of that moment.
  TEST_CASE("as much is lit as PyEphem says") {
    for (const auto& [planet, lit] : {std::pair{"mars", 0.8985}, std::pair{"jupiter", 0.9917}}) {
      const std::string name = planet;
      CAPTURE(name);
      const lab::Parameters p = planet_of(name, "2026-11-30T04:00:00");
      const sky::Aspect aspect = aspect_of(p, 0);
      const Plane picture = drawn(p, lab::CoverMap(p.scene, 5), 0);
      double area = 0;
      for (int y = 0; y < picture.height(); ++y) {
        for (int x = 0; x < picture.width(); ++x) area += picture.row(y)[x] > 0 ? 1 : 0;
      }
      const double disc = std::numbers::pi * kRadius_px * kRadius_px * aspect.polar_arcsec /
                          aspect.equatorial_arcsec;
      CAPTURE(area / disc);
      // Pixels of the limb count whole: half of 2 pi R of them too many.
      CHECK(std::abs(area / disc - lit - 1 / kRadius_px) < 0.01);
    }
  }

  TEST_CASE("detail is at the longitudes and latitudes of the drawing, an hour later too") {
    for (const char* name : {"jupiter", "mars"}) {
      for (const double since_s : {0.0, 3600.0}) {
        CAPTURE(std::string(name));
        CAPTURE(since_s);
        const lab::Parameters p = planet_of(name, "2026-11-30T04:00:00");
        const lab::CoverMap cover(p.scene, 5);
        const sky::Aspect now = aspect_of(p, since_s);
        const Plane picture = drawn(p, cover, since_s);
        constexpr double kScale = 2;
        constexpr double kDarkening = 0.9;
        const globe::MapGrid grid(globe::MapProjection::cylindrical, kScale);
        globe::GlobeMap map(grid, body_of(p), kDarkening, 0);
        map.add({{{globe::shape_of(body_of(p), now), place_of(p, now)},
                  since_s,
                  1,
                  1,
                  {picture.view()}},
                 {0},
                 0.3});
        const Plane found = std::move(map.finish().planes.front());
        Plane truth(found.size());
        for (int y = 0; y < truth.height(); ++y) {
          for (int x = 0; x < truth.width(); ++x) {
            const auto place = grid.place_at(x, y).value();
            truth.row(y)[x] =
                static_cast<float>(cover.at(place.latitude, place.east_longitude).front());
          }
        }
        // 60 degrees around the middle of the disc, where they do not cross the map's edge.
        const double middle_east = 360 - now.below_observer.longitude_deg;
        const int x0 = static_cast<int>(kScale * std::clamp(middle_east, 60.0, 300.0));
        const align::SplinePlane smooth(blurred(truth).view());
        std::vector<double> east;
        std::vector<double> down;
        for (int y = 90; y <= 210; y += 20) {
          for (int x = x0 - 72; x <= x0 + 32; x += 20) {
            const Displacement shift =
                test::detail_shift(found.view(), smooth, {x, y, x + 60, y + 60});
            east.push_back(shift.x_px / kScale);
            down.push_back(shift.y_px / kScale);
          }
        }
        CHECK(std::abs(median(east)) < 0.05);
        CHECK(std::abs(median(down)) < 0.05);
      }
    }
  }
}
