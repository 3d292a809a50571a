// Covers: globe/limb_model
#include "globe/same_face.h"

#include "globe/globe_scene.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/same_face") {
  TEST_CASE("a picture that stands on its head is noticed, one that is noisy or turned is not") {
    const GlobePlace place{60.2, 59.7, 45, 0.3, false};
    const auto picture = [&](double east_deg, double roll) {
      GlobePlace rolled = place;
      rolled.pole_clockwise_rad += roll;
      Plane plane =
          drawn(GlobeView(jupiter_shape(east_deg), rolled), {120, 120}, 0.9, spotted, 1.2);
      add_noise(plane, 0.01, 3);
      return plane;
    };
    const double turn_deg = 3;
    const double later_s = turn_deg / (870.536 / 86'400);
    const Plane first = picture(0, 0);
    const Plane second = picture(-turn_deg, 0);
    const Plane flipped = picture(-turn_deg, std::numbers::pi);
    const auto of = [&](const Plane& plane, double east_deg, double seconds) {
      return face_of(plane.view(), jupiter_shape(east_deg), place, seconds);
    };
    const Face a = of(first, 0, 0);
    const Face b = of(second, -turn_deg, later_s);
    const Face c = of(flipped, -turn_deg, later_s);
    const FaceComparison with_a(a, sky::Body::mars, 0.9);
    CHECK(with_a.likeness(a) > 0.999);
    CHECK(with_a.likeness(b) > 0.85);
    CHECK_FALSE(with_a.is_upside_down(b));
    CHECK(with_a.is_upside_down(c));
    CHECK(with_a.likeness(turned_about(c)) > 0.85);
  }
}
