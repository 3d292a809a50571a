// Covers: globe/derotate, globe/spread_limb
#include "globe/derotate.h"

#include <vector>

#include "globe/globe_scene.h"

using namespace lull;
using namespace lull::globe;
using sky::kDegree;

TEST_SUITE("globe/derotate") {
  constexpr Size kSize{150, 140};
  constexpr double kDarkening = 0.85;
  constexpr double kTurn_deg_per_s = 870.536 / 86'400;

  GlobePlace place_of(int i) { return {74.2 + 0.7 * i, 69.8 - 0.4 * i, 52 + 0.1 * i, 0.3, false}; }

  // East longitude of the middle falls as the globe turns eastward.
  GlobeShape shape_after(double seconds) { return jupiter_shape(-kTurn_deg_per_s * seconds); }

  // Between two pictures, within a part of the radius, dB of the truth's highest value.
  double psnr_db(const Plane& truth, const Plane& other, const GlobePlace& place, double part) {
    double sum = 0;
    double most = 0;
    int n = 0;
    for (int y = 0; y < truth.height(); ++y) {
      for (int x = 0; x < truth.width(); ++x) {
        if (std::hypot(x - place.x_px, y - place.y_px) > part * place.radius_px) continue;
        const double d =
            static_cast<double>(truth.row(y)[x]) - static_cast<double>(other.row(y)[x]);
        sum += d * d;
        most = std::max(most, static_cast<double>(truth.row(y)[x]));
        ++n;
      }
    }
    return 10 * std::log10(most * most * n / sum);
  }

  struct Series {
    std::vector<Plane> drawings;
    std::vector<GlobePicture> pictures;
    GlobeView at_moment{shape_after(0), place_of(0)};
    Plane truth;
  };

  // Clouds that stand still in System III where `drift` is 0; else they run with their latitude.
  Series series_of(const std::vector<double>& later_s, bool drifting) {
    Series series;
    const auto surface_at = [drifting](double seconds) -> Surface {
      return [=](const sky::Vector& point) {
        const double drift =
            drifting ? cloud_drift_rad_per_s(sky::Body::jupiter,
                                             planetographic_latitude_rad(point, 66854.0 / 71492))
                     : 0;
        return spotted(moved_east(point, -drift * seconds));
      };
    };
    series.truth = drawn(series.at_moment, kSize, kDarkening, surface_at(0), 1);
    for (std::size_t i = 0; i < later_s.size(); ++i) {
      const GlobeView view(shape_after(later_s[i]), place_of(static_cast<int>(i)));
      series.drawings.push_back(drawn(view, kSize, kDarkening, surface_at(later_s[i]), 1));
      series.pictures.push_back({view, later_s[i]});
    }
    for (std::size_t i = 0; i < later_s.size(); ++i)
      series.pictures[i].planes = {series.drawings[i].view()};
    return series;
  }

  void add_to(Plane & plane, float light) {
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) plane.row(y)[x] += light;
    }
  }

  TEST_CASE("pictures of 20 minutes become those of one moment") {
    const Series series = series_of({-600, -300, 0, 300, 600}, true);
    const Derotated turned =
        derotate(series.pictures, {series.at_moment, kSize, sky::Body::jupiter, kDarkening});
    // What averaging without turning gives: globes of no known motion.
    std::vector<GlobePicture> still = series.pictures;
    for (GlobePicture& picture : still)
      picture.view = GlobeView(shape_after(0), picture.view.place());
    const Derotated smeared =
        derotate(still, {series.at_moment, kSize, sky::Body::mars, kDarkening});
    const double good = psnr_db(series.truth, turned.planes[0], place_of(0), 0.8);
    const double poor = psnr_db(series.truth, smeared.planes[0], place_of(0), 0.8);
    CAPTURE(good);
    CAPTURE(poor);
    CHECK(good > 45);
    CHECK(good > poor + 15);
    const double with_limb = psnr_db(series.truth, turned.planes[0], place_of(0), 1.1);
    CAPTURE(with_limb);
    CHECK(with_limb > 61);
  }

  // A sphere from which the Sun and the observer are seen in the same direction.
  TEST_CASE("the light that the blur leaves near the limb is that of a blurred drawing") {
    const GlobePlace place{74.2, 69.8, 52, 0, false};
    const GlobeView view(GlobeShape{}, place);
    constexpr double kBlur_px = 2;
    const Plane picture = drawn(view, kSize, kDarkening, plain, kBlur_px);
    const SpreadLimb limb(place.radius_px, kDarkening, {kBlur_px});
    for (int x = 24; x < 60; ++x) {
      const auto seen = view.seen_at(x, 70);
      REQUIRE(seen);
      const double law = 0.8 * minnaert(seen->cos_sun, seen->cos_observer, kDarkening);
      CAPTURE(x);
      CHECK(limb.left(seen->cos_observer) ==
            doctest::Approx(static_cast<double>(picture.row(70)[x]) / law).epsilon(0.03));
    }
  }

  TEST_CASE("one picture at its own moment stays as it is, but for its interpolation") {
    const Series series = series_of({0}, false);
    const Derotated same =
        derotate(series.pictures, {series.at_moment, kSize, sky::Body::mars, kDarkening});
    CHECK(psnr_db(series.truth, same.planes[0], place_of(0), 1.3) > 60);
  }

  TEST_CASE("sky that no picture reaches at the edges is that beside it, not black") {
    Series series = series_of({0}, false);
    add_to(series.drawings[0], 0.016F);
    // Three pixels farther right and down in the moment's picture than in its own.
    GlobePlace moved = place_of(0);
    moved.x_px += 3;
    moved.y_px += 2;
    const Derotated out = derotate(
        series.pictures, {GlobeView(shape_after(0), moved), kSize, sky::Body::jupiter, kDarkening});
    const Plane& plane = out.planes[0];
    CHECK(out.share.row(70)[0] == 0);
    CHECK(plane.row(70)[3] > 0.015F);
    CHECK(plane.row(70)[0] == plane.row(70)[3]);
    CHECK(plane.row(0)[70] == plane.row(2)[70]);
    CHECK(plane.row(0)[0] == plane.row(2)[3]);
  }

  TEST_CASE("noise planes are averaged as the picture is, so that halves stay halves") {
    Series series = series_of({-300, 300}, false);
    // The same plane again as a second one must come out the same.
    for (GlobePicture& picture : series.pictures) picture.planes.push_back(picture.planes[0]);
    const Derotated out =
        derotate(series.pictures, {series.at_moment, kSize, sky::Body::jupiter, kDarkening});
    REQUIRE(out.planes.size() == 2);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        REQUIRE(out.planes[0].row(y)[x] == out.planes[1].row(y)[x]);
    }
  }

  TEST_CASE("all pictures count in the middle, and fewer where the globe has turned away") {
    const Series series = series_of({-3600, 0, 3600}, false);
    const Derotated out =
        derotate(series.pictures, {series.at_moment, kSize, sky::Body::mars, kDarkening});
    CHECK(out.share.row(70)[74] > 0.9F);
    const auto beside = series.at_moment.shown(sky::direction(60 * kDegree, 0));
    CHECK(out.share.row(static_cast<int>(beside.y_px))[static_cast<int>(beside.x_px)] < 0.75F);
  }

  // Rates of the elements: System I gains 7.364 degrees a day on System III, System II loses 0.266.
  TEST_CASE("clouds of Jupiter run by their latitude, those of others do not") {
    const double per_day = 86'400 / kDegree;
    CHECK(cloud_drift_rad_per_s(sky::Body::jupiter, 0) * per_day == doctest::Approx(7.364));
    CHECK(cloud_drift_rad_per_s(sky::Body::jupiter, -0.5) * per_day == doctest::Approx(-0.266));
    CHECK(cloud_drift_rad_per_s(sky::Body::mars, 0) == 0);
  }
}
