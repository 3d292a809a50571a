// The lab's Saturn is drawn by formulas of its own: its rings and shadows are held against the
// geometry of src/globe, and the place that is found of it against where it was drawn.
#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

#include "core/reduced.h"
#include "core/utc.h"
#include "globe/limb_fit.h"
#include "globe/rings.h"
#include "lab/scene.h"
#include "sky/aspect.h"

using namespace lull;

TEST_SUITE("lab/saturn") {
  namespace {

  constexpr double kRadius_px = 60;
  constexpr double kNorth_deg = 20;

  lab::Parameters saturn_at(const std::string& utc) {
    lab::Parameters p;
    p.scene.kind = "planet";
    p.scene.planet = "saturn";
    p.scene.utc = utc;
    p.scene.radius_px = kRadius_px;
    p.scene.north_deg = kNorth_deg;
    p.scene.limb_darkening = 0.7;
    p.scene.centre_x_px = 1.37;
    p.scene.centre_y_px = -0.81;
    p.width_px = 320;
    p.height_px = 240;
    return p;
  }

  Plane drawn(const lab::Parameters& p) {
    constexpr int kFine = 3;
    const lab::Canvas canvas{p.width_px, p.height_px, 0, kFine};
    return reduced(lab::planet(p, lab::CoverMap(p.scene, 5), canvas, 0).front().view(), kFine);
  }

  sky::Aspect aspect_of(const lab::Parameters& p) {
    return sky::aspect_of(sky::Body::saturn, sky::Observer(parse_iso8601(p.scene.utc).value()));
  }

  globe::GlobePlace place_of(const lab::Parameters& p) {
    return {0.5 * (p.width_px - 1) + p.scene.centre_x_px,
            0.5 * (p.height_px - 1) + p.scene.centre_y_px, kRadius_px,
            (kNorth_deg - aspect_of(p).pole_deg) * sky::kDegree};
  }

  Plane blurred(const Plane& plane, double sigma_px) {
    const int reach = static_cast<int>(std::ceil(4 * sigma_px));
    Plane from = Plane::copy_of(plane.view());
    for (const bool along_rows : {true, false}) {
      Plane out(from.size());
      for (int y = 0; y < out.height(); ++y) {
        for (int x = 0; x < out.width(); ++x) {
          double sum = 0;
          double taps = 0;
          for (int i = -reach; i <= reach; ++i) {
            const int u = along_rows ? x + i : x;
            const int v = along_rows ? y : y + i;
            if (u < 0 || v < 0 || u >= out.width() || v >= out.height()) continue;
            const double tap = std::exp(-0.5 * i * i / (sigma_px * sigma_px));
            sum += tap * static_cast<double>(from.row(v)[u]);
            taps += tap;
          }
          out.row(y)[x] = static_cast<float>(sum / taps);
        }
      }
      from = std::move(out);
    }
    return from;
  }

  // A core and a halo, and noise.
  struct Air {
    std::string name;
    double core_px;
    double halo_px;
    double halo_share;
    double noise;
  };

  Plane through(const Air& air, const Plane& sharp) {
    Plane core = blurred(sharp, air.core_px);
    scale(core.view(), static_cast<float>(1 - air.halo_share));
    const Plane halo = blurred(sharp, air.halo_px);
    Plane out = weighted_sum(core.view(), static_cast<float>(air.halo_share), halo.view());
    std::mt19937_64 random(3);
    std::normal_distribution<double> normal(0, air.noise);
    for (int y = 0; y < out.height(); ++y) {
      for (int x = 0; x < out.width(); ++x) out.row(y)[x] += static_cast<float>(normal(random));
    }
    return out;
  }

  // Rings open by 6, 17 and 26 degrees to the south and by 27 to the north, where the Sun stands 6
  // degrees aside.
  const std::vector<std::string> kDates = {"2026-11-30T20:00:00", "2028-11-20T22:00:00",
                                           "2032-12-24T00:00:00", "2017-09-15T00:00:00"};

  }  // namespace

  TEST_CASE("rings and shadows lie where the globe's geometry has them") {
    for (const std::string& utc : kDates) {
      CAPTURE(utc);
      const lab::Parameters p = saturn_at(utc);
      const globe::GlobeView view(globe::shape_of(sky::Body::saturn, aspect_of(p)), place_of(p));
      const Plane picture = drawn(p);
      const Plane distance = globe::distance_from_rings(view, {0, 0, p.width_px, p.height_px});
      int bright = 0;
      int dark = 0;
      int wrong = 0;
      for (int y = 0; y < picture.height(); ++y) {
        for (int x = 0; x < picture.width(); ++x) {
          const float light = picture.row(y)[x];
          const bool beside = distance.row(y)[x] > 1.5F;
          const auto seen = view.seen_at(x, y);
          const auto ring = globe::ring_at(view, x, y);
          if (beside && !view.holds(x, y))
            wrong += light > 0 && !view.holds(x + 1, y) && !view.holds(x - 1, y) &&
                             !view.holds(x, y + 1) && !view.holds(x, y - 1)
                         ? 1
                         : 0;
          if (beside && seen && seen->cos_sun > 0.2) wrong += light < 0.1F ? 1 : 0;
          // The middle of ring B.
          if (!ring || ring->radius < 1.6 || ring->radius > 1.87) continue;
          if (ring->sun_passes > 1.05) {
            ++bright;
            wrong += light < 0.5F ? 1 : 0;
          } else if (ring->sun_passes < 0.95) {
            ++dark;
            wrong += light > 0.03F ? 1 : 0;
          }
        }
      }
      CHECK(bright > 500);
      if (utc == kDates.back() || utc == kDates.front()) CHECK(dark > 5);
      CHECK(wrong < 10);
    }
  }

  // Wanted: 0.1 px and 0.1% in good air, 0.3 px and 0.5% in poor.
  TEST_CASE("centre and radius are found of a ringed disc without a start") {
    for (const Air& air : {Air{"good", 1.2, 4, 0.15, 0.003}, Air{"poor", 3, 9, 0.35, 0.01}}) {
      for (const std::string& utc : kDates) {
        CAPTURE(air.name);
        CAPTURE(utc);
        const lab::Parameters p = saturn_at(utc);
        const Plane picture = through(air, drawn(p));
        const globe::GlobePlace truth = place_of(p);
        globe::GlobePlace start;
        start.radius_px = 0;
        start.pole_clockwise_rad = truth.pole_clockwise_rad;
        const auto fit = globe::fit_limb(picture.view(),
                                         globe::shape_of(sky::Body::saturn, aspect_of(p)), start);
        REQUIRE(fit);
        CHECK(fit->by_rings);
        const double off = std::hypot(fit->place.x_px - truth.x_px, fit->place.y_px - truth.y_px);
        CAPTURE(off);
        CAPTURE(fit->place.radius_px);
        CHECK(off < (air.name == "good" ? 0.05 : 0.1));
        CHECK(std::abs(fit->place.radius_px / kRadius_px - 1) <
              (air.name == "good" ? 0.001 : 0.0025));
      }
    }
  }
}
