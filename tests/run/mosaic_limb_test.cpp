#include "run/mosaic_limb.h"

#include <doctest/doctest.h>

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
    mosaic::LimbFit fit;
    fit.curve.circle = {10, 20, 950};
    fit.rms_px = 0.02;
    CHECK(run::limb_fit_text(fit) == "0.02 px rms off it");
    CHECK(run::joined_limb_json(fit).at("flattening") == 0);
    fit.curve.flattening = {0.002, 0};
    CHECK(run::limb_fit_text(fit) == "0.02 px rms off it; flattened by 0.40%");
    CHECK(run::joined_limb_json(fit).at("radius_px") == 950);
  }
}
