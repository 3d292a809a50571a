// Covers: globe/globe_map, globe/map_gains
#include "globe/globe_map.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "globe/globe_scene.h"
#include "globe/map_gains.h"

using namespace lull;
using namespace lull::globe;

TEST_SUITE("globe/globe_map") {
  namespace {

  constexpr double kRatio = 66854.0 / 71492;
  constexpr double kDarkening = 0.9;
  constexpr Size kSize{130, 130};

  GlobeView view_from(double east_longitude_deg) {
    return {jupiter_shape(east_longitude_deg), {64.3, 65.2, 55, 0.4}};
  }

  MapPicture picture_of(const GlobeView& view, const Plane& plane, double gain = 1) {
    return {{view, 0, 1, gain, {plane.view()}}, {0}, least_map_cosine(55, 1)};
  }

  double degrees(double rad) { return rad / sky::kDegree; }

  }  // namespace

  TEST_CASE("the middle of each pixel has its place") {
    const MapGrid flat(MapProjection::cylindrical, 2.003);
    CHECK(flat.pixels_per_degree() == doctest::Approx(2));
    CHECK(flat.size() == Size{720, 360});
    const auto first = flat.place_at(0, 0);
    CHECK(degrees(first->latitude) == doctest::Approx(89.75));
    CHECK(degrees(first->east_longitude) == doctest::Approx(0.25));
    const auto last = flat.place_at(719, 359);
    CHECK(degrees(last->latitude) == doctest::Approx(-89.75));
    CHECK(degrees(last->east_longitude) == doctest::Approx(359.75));
    CHECK_FALSE(flat.place_at(720, 10).has_value());
    const MapGrid north(MapProjection::north_pole, 2);
    CHECK(north.size() == Size{360, 360});
    CHECK(degrees(north.place_at(179.5, 179.5)->latitude) == doctest::Approx(90));
    // 40 degrees down from the pole, to the right, up.
    CHECK(degrees(north.place_at(179.5, 259.5)->latitude) == doctest::Approx(50));
    CHECK(degrees(north.place_at(179.5, 259.5)->east_longitude) == doctest::Approx(0));
    CHECK(degrees(north.place_at(259.5, 179.5)->east_longitude) == doctest::Approx(90));
    CHECK(degrees(north.place_at(179.5, 99.5)->east_longitude) == doctest::Approx(180));
    CHECK_FALSE(north.place_at(0, 0).has_value());
    const MapGrid south(MapProjection::south_pole, 2);
    CHECK(degrees(south.place_at(179.5, 99.5)->latitude) == doctest::Approx(-50));
    CHECK(degrees(south.place_at(179.5, 99.5)->east_longitude) == doctest::Approx(0));
    CHECK(degrees(south.place_at(259.5, 179.5)->east_longitude) == doctest::Approx(90));
  }

  // Snyder 1987, Map Projections (USGS Professional Paper 1395), equation 3-28: the tangent of the
  // geocentric latitude is (1 - e^2) that of the geodetic one (from memory).
  TEST_CASE("planetographic latitude is that of the normal") {
    for (const double latitude : {-90.0, -61.0, 0.0, 20.0, 45.0, 89.0}) {
      CAPTURE(latitude);
      const sky::Vector point = surface_point(latitude * sky::kDegree, 40 * sky::kDegree, kRatio);
      CHECK(degrees(planetographic_latitude_rad(point, kRatio)) == doctest::Approx(latitude));
      CHECK(std::hypot(point.at[0], point.at[1], point.at[2] / kRatio) == doctest::Approx(1));
      if (std::abs(latitude) < 90)
        CHECK(std::tan(point.latitude_rad()) ==
              doctest::Approx(kRatio * kRatio * std::tan(latitude * sky::kDegree)));
    }
  }

  TEST_CASE("samples begin two widths of the blur inside the limb") {
    const double cosine = least_map_cosine(50, 1.5);
    CHECK(50 * (1 - std::sqrt(1 - cosine * cosine)) == doctest::Approx(3));
    CHECK(least_map_cosine(1000, 1) == doctest::Approx(0.15));
    CHECK(least_map_cosine(10, 20) == doctest::Approx(1));
  }

  TEST_CASE("an even surface gives an even map, at a coarse and a fine scale") {
    const GlobeView view = view_from(30);
    const Plane plane = drawn(view, kSize, kDarkening, plain, 1);
    for (const double scale : {0.5, 1.0, 3.0}) {
      CAPTURE(scale);
      GlobeMap map(MapGrid(MapProjection::cylindrical, scale), sky::Body::mars, kDarkening, 0);
      map.add(picture_of(view, plane));
      const GlobeMapResult result = map.finish();
      int seen = 0;
      for (int y = 0; y < result.weight.height(); ++y) {
        for (int x = 0; x < result.weight.width(); ++x) {
          if (result.weight.row(y)[x] < 0.05F) continue;
          ++seen;
          CHECK(std::abs(result.planes[0].row(y)[x] - 0.8F) < 0.012F);
        }
      }
      const auto all = static_cast<double>(result.weight.size().area_px());
      CHECK(seen > 0.18 * all);
      CHECK(seen < 0.25 * all);
    }
  }

  TEST_CASE("pictures are weighed by brightness and foreshortening, and the prime meridian moves") {
    const GlobeView first = view_from(0);
    const GlobeView second = view_from(50);
    const Plane one = drawn(first, kSize, kDarkening, plain, 1);
    Plane other = drawn(second, kSize, kDarkening, plain, 1);
    scale(other.view(), 1.5F);
    const double prime = 20 * sky::kDegree;
    GlobeMap map(MapGrid(MapProjection::cylindrical, 1), sky::Body::mars, kDarkening, prime);
    map.add(picture_of(first, one));
    map.add(picture_of(second, other));
    const GlobeMapResult result = map.finish();
    const auto at = [&](double east_deg) {
      const int x = (static_cast<int>(std::floor(east_deg - 20)) + 360) % 360;
      return static_cast<double>(result.planes[0].row(89)[x]);
    };
    // In the middle of the first disc the second is 50 degrees aside, and the other way about.
    CHECK(at(0) == doctest::Approx(0.8 * 1.15).epsilon(0.05));
    CHECK(at(50) == doctest::Approx(0.8 * 1.35).epsilon(0.05));
    CHECK(at(25) == doctest::Approx(0.8 * 1.25).epsilon(0.03));
    CHECK(at(-60) == doctest::Approx(0.8).epsilon(0.02));
    CHECK(at(105) == doctest::Approx(1.2).epsilon(0.02));
  }

  TEST_CASE("gains follow from what is shared, and dark sides stay dark") {
    // The side around 0 degrees is dark, the other bright: each disc is as bright as its side.
    const Surface sides = [](const sky::Vector& point) {
      return 0.6 - 0.2 * std::cos(point.longitude_rad());
    };
    std::vector<Plane> planes;
    std::vector<MapPicture> pictures;
    const double gains[] = {1.0, 0.8, 1.25, 1.1};
    for (int i = 0; i < 4; ++i) {
      planes.push_back(drawn(view_from(45.0 * i), kSize, kDarkening, sides, 1));
      scale(planes.back().view(), static_cast<float>(gains[i]));
    }
    for (int i = 0; i < 4; ++i)
      pictures.push_back(picture_of(view_from(45.0 * i), planes[static_cast<std::size_t>(i)], 2));
    const std::vector<double> found = matched_gains(pictures, sky::Body::mars, kDarkening);
    double sum = 0;
    for (std::size_t i = 0; i < 4; ++i) {
      CAPTURE(i);
      CHECK(found[i] * gains[i] == doctest::Approx(found[0] * gains[0]).epsilon(0.01));
      sum += std::log(found[i] / 2);
    }
    CHECK(std::abs(sum) < 1e-6);
    // The far side shares nothing.
    planes.clear();
    for (const double east : {0.0, 180.0})
      planes.push_back(drawn(view_from(east), kSize, kDarkening, sides, 1));
    const auto apart = matched_gains(
        {picture_of(view_from(0), planes[0], 3), picture_of(view_from(180), planes[1], 5)},
        sky::Body::mars, kDarkening);
    CHECK(apart[0] == doctest::Approx(3));
    CHECK(apart[1] == doctest::Approx(5));
  }
}
