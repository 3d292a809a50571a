#include "globe/orientation.h"

#include <vector>

#include "globe/globe_scene.h"
#include "globe/rough_place.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/orientation") {
  namespace {

  constexpr double kRate_deg_per_s = 870.536 / 86'400;

  // Five pictures in twelve minutes, 7 degrees of turn, seen from a latitude.
  struct Turning {
    std::vector<Plane> pictures;
    std::vector<DatedFace> faces;
  };

  Turning turning(const Orientation& orientation, double tilt_deg) {
    constexpr double kPole_deg = 22;
    Turning out;
    for (int i = 0; i < 5; ++i) {
      const double later_s = 180.0 * i;
      const double east = -kRate_deg_per_s * later_s * kDegree;
      const GlobeShape shape{66854.0 / 71492, sky::direction(east, tilt_deg * kDegree),
                             sky::direction(east + 8 * kDegree, (tilt_deg - 1) * kDegree)};
      const GlobePlace place{60.2 + 0.3 * i, 59.7 - 0.2 * i, 45, orientation.clockwise(kPole_deg),
                             orientation.mirrored};
      out.pictures.push_back(drawn(GlobeView(shape, place), {120, 120}, 0.9, spotted, 1.5));
      add_noise(out.pictures.back(), 0.01, static_cast<std::uint64_t>(i));
      const auto rough = rough_place(out.pictures.back().view(), shape, {}, Angles::unknown);
      REQUIRE(rough);
      out.faces.push_back({face_of(out.pictures.back().view(), shape, *rough, later_s), kPole_deg});
    }
    return out;
  }

  double off_deg(const Orientation& found, const Orientation& truth) {
    return sky::half_turn((found.north_clockwise_rad - truth.north_clockwise_rad) / kDegree);
  }

  // Found with certainty, and to 3 degrees.
  FoundOrientation checked_orientation(const Orientation& truth, double tilt_deg) {
    const Turning series = turning(truth, tilt_deg);
    FoundOrientation found = find_orientation(series.faces, sky::Body::mars);
    CAPTURE(found.likeness);
    CAPTURE(found.of_opposite);
    CAPTURE(found.of_mirrored);
    CAPTURE(found.orientation.north_clockwise_rad / kDegree);
    CHECK(found.is_certain());
    CHECK(found.orientation.mirrored == truth.mirrored);
    CHECK(std::abs(off_deg(found.orientation, truth)) < 3);
    return found;
  }

  }  // namespace

  TEST_CASE("north is found by how detail moves, to 3 degrees") {
    for (const double north_deg : {-70.0, 12.0, 163.0}) {
      CAPTURE(north_deg);
      const FoundOrientation found = checked_orientation({north_deg * kDegree, false}, 3);
      CHECK(found.likeness > found.of_opposite + 0.05);
    }
  }

  // Seen from 25 degrees beside the equator detail runs along arcs, which lie the other way in a
  // mirror.
  TEST_CASE("a mirrored picture is told where the globe is tilted") {
    CHECK(checked_orientation({40 * kDegree, true}, 25).tells_mirrors());
  }

  TEST_CASE("directions: opposite, mirrored, position angles") {
    const Orientation plain{10 * kDegree, false};
    CHECK(plain.clockwise(22) == doctest::Approx(-12 * kDegree));
    CHECK(plain.mirror_image().clockwise(22) == doctest::Approx(32 * kDegree));
    CHECK(plain.opposite().clockwise(22) == doctest::Approx(168 * kDegree));
    CHECK(is_clearly_more(0.95, 0.8));
    CHECK(is_clearly_more(0.99, 0.97));  // what is left is a third
    CHECK_FALSE(is_clearly_more(0.93, 0.9));
    CHECK_FALSE(is_clearly_more(0.5, 0.45));
  }
}
