#include "run/mosaic_limb.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

using namespace lull;

TEST_SUITE("run/mosaic_limb") {
  TEST_CASE("the Sun's limb is laid onto a circle, others where that is asked for") {
    using run::LimbCircle;
    using run::Object;
    CHECK(run::limbs_of(LimbCircle::automatic, Object::sun) == mosaic::Limbs::round);
    CHECK(run::limbs_of(LimbCircle::automatic, Object::moon) == mosaic::Limbs::any);
    CHECK(run::limbs_of(LimbCircle::automatic, Object::unspecified) == mosaic::Limbs::any);
    CHECK(run::limbs_of(LimbCircle::used, Object::moon) == mosaic::Limbs::round);
    CHECK(run::limbs_of(LimbCircle::left, Object::sun) == mosaic::Limbs::any);
  }

  TEST_CASE("its figures are null where it was not used, and name what flattens it") {
    CHECK(run::joined_limb_json(std::nullopt).is_null());
    run::JoinedLimb limb;
    limb.fit.curve.circle = {10, 20, 950};
    limb.fit.rms_px = 0.02;
    CHECK(run::limb_fit_text(limb) == "0.02 px rms off it");
    CHECK(run::joined_limb_json(limb).at("flattening") == 0);
    CHECK(run::joined_limb_json(limb).at("arcsec_per_px").is_null());
    limb.fit.curve.flattening = {0.002, 0};
    CHECK(run::limb_fit_text(limb) == "0.02 px rms off it; flattened by 0.40%");
    CHECK(run::joined_limb_json(limb).at("radius_px") == 950);
  }

  // The Sun's semidiameter is 16' 16" about 3 January and 15' 44" about 4 July (The Astronomical
  // Almanac, from memory), to a second.
  TEST_CASE(
      "the Sun's diameter gives the angle of a pixel, and a stated one that differs is told") {
    mosaic::Layout layout;
    layout.maps.resize(1);
    layout.maps[0].panel = {2001, 2001};
    layout.maps[0].middle = {1000, 1000};
    for (int i = 0; i < 200; ++i) {
      const double angle = 0.01 * std::numbers::pi * i;
      layout.limb.places.push_back(
          {0, {1000 + 960 * std::cos(angle), 1000 + 960 * std::sin(angle)}});
    }
    const auto cards = [](const char* day, double scale) {
      return std::vector<files::Card>{{"DATE-OBS", std::string(day), ""}, {"PIXSCALE", scale, ""}};
    };
    const auto winter = cards("2027-01-03T12:00:00", 1.017);
    const auto summer = cards("2027-07-04T12:00:00", 1.017);
    const auto in_winter = run::joined_limb(layout, run::Object::sun, winter);
    const auto in_summer = run::joined_limb(layout, run::Object::sun, summer);
    REQUIRE(in_winter);
    REQUIRE(in_summer);
    CHECK(std::abs(in_winter->arcsec_per_px.value_or(0) - 976 / 960.0) < 1 / 960.0);
    CHECK(std::abs(in_summer->arcsec_per_px.value_or(0) - 944 / 960.0) < 1 / 960.0);
    CHECK(run::pixel_scale_note(in_winter, winter).empty());
    CHECK(run::pixel_scale_note(in_summer, summer).find("0.983: check") != std::string::npos);
    const auto moon = run::joined_limb(layout, run::Object::moon, winter);
    REQUIRE(moon);
    CHECK_FALSE(moon->arcsec_per_px);
    CHECK(run::pixel_scale_note(moon, summer).empty());
  }
}
