// Covers: globe/moving
#include "globe/moving.h"

#include <doctest/doctest.h>

#include <cmath>

#include "globe/globe_scene.h"

using namespace lull;
using namespace lull::globe;

TEST_SUITE("globe/moving") {
  namespace {

  constexpr double kDarkening = 0.9;
  constexpr Size kSize{150, 120};
  constexpr double kRate = 2 * std::numbers::pi / 35'730;  // Jupiter's

  // A blurred point of light, or of shadow.
  void add_spot(Plane& plane, double x0, double y0, double light, double sigma) {
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x)
        plane.row(y)[x] += static_cast<float>(
            light * std::exp(-0.5 * (std::pow(x - x0, 2) + std::pow(y - y0, 2)) / (sigma * sigma)));
    }
  }

  struct Night {
    std::vector<Plane> planes{};
    std::vector<GlobePicture> pictures{};
    GlobeView at_moment;
  };

  // Five pictures, 200 s apart; a moon beside the globe goes left by 8 px in between, a shadow on
  // it by 7.
  Night night(bool with_moon) {
    const GlobePlace place{60, 60, 45, 0};
    Night out{{}, {}, GlobeView(jupiter_shape(0), place)};
    for (int i = -2; i <= 2; ++i) {
      const double later_s = 200.0 * i;
      const double turned_deg = -kRate * later_s / sky::kDegree;
      const GlobeView view(jupiter_shape(turned_deg), place);
      out.planes.push_back(drawn(view, kSize, kDarkening, spotted, 1.2));
      add_noise(out.planes.back(), 0.005, static_cast<std::uint64_t>(i + 10));
      if (with_moon) {
        add_spot(out.planes.back(), 128 - 8 * i, 52, 0.4, 1.5);
        add_spot(out.planes.back(), 60 - 7 * i, 66, -0.5, 2);
      }
      out.pictures.push_back({view, 0, 1, 1, {}, i == 0});
    }
    for (std::size_t i = 0; i < 5; ++i) out.pictures[i].planes = {out.planes[i].view()};
    return out;
  }

  Plane places_of(const Night& night) {
    return moving_places(night.pictures,
                         Derotation(night.at_moment, kSize, sky::Body::mars, kDarkening),
                         night.at_moment, 0.7, 1.2);
  }

  }  // namespace

  TEST_CASE("a moon beside the globe and a shadow on it stay points, and leave no trail") {
    const Night moons = night(true);
    const Plane places = places_of(moons);
    // Their ways, and not much more.
    double share = 0;
    for (int y = 0; y < places.height(); ++y) {
      for (int x = 0; x < places.width(); ++x) share += static_cast<double>(places.row(y)[x]);
    }
    share /= static_cast<double>(kSize.area_px());
    CHECK(share > 0.04);
    CHECK(share < 0.15);
    CHECK(places.row(100)[20] == 0);
    CHECK(places.row(40)[60] == 0);
    const Plane kept =
        std::move(derotate(moons.pictures, {moons.at_moment, kSize, sky::Body::mars, kDarkening},
                           Plane::copy_of(places.view()))
                      .planes.front());
    const Plane all =
        std::move(derotate(moons.pictures, {moons.at_moment, kSize, sky::Body::mars, kDarkening})
                      .planes.front());
    const Night none = night(false);
    const Plane truth =
        std::move(derotate(none.pictures, {none.at_moment, kSize, sky::Body::mars, kDarkening})
                      .planes.front());
    const auto more = [&](const Plane& plane, int x, int y) {
      return static_cast<double>(plane.row(y)[x] - truth.row(y)[x]);
    };
    CHECK(more(kept, 128, 52) == doctest::Approx(0.4).epsilon(0.1));
    CHECK(std::abs(more(kept, 136, 52)) < 0.02);
    CHECK(std::abs(more(kept, 120, 52)) < 0.02);
    CHECK(more(kept, 60, 66) == doctest::Approx(-0.5).epsilon(0.1));
    CHECK(std::abs(more(kept, 67, 66)) < 0.03);
    // As they are, each is five.
    CHECK(more(all, 128, 52) < 0.12);
    CHECK(more(all, 136, 52) > 0.06);
  }

  TEST_CASE("clouds, noise and the limb are not taken for moons") {
    const Plane places = places_of(night(false));
    for (int y = 0; y < places.height(); ++y) {
      for (int x = 0; x < places.width(); ++x) CHECK(places.row(y)[x] == 0);
    }
  }
}
