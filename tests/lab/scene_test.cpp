#include "lab/scene.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <numbers>

#include "core/error.h"
#include "files/picture_file.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using lull::Plane;
using lull::lab::Canvas;
using lull::lab::Parameters;
using lull::test::TemporaryFolder;

namespace {

constexpr double kDegree = std::numbers::pi / 180;

Canvas canvas_of(int side, int fineness = 1) { return {side, side, 0, fineness}; }

// An equirectangular map, dark but for a spot.
std::string map_with_spot(const TemporaryFolder& folder, double latitude_deg,
                          double longitude_deg) {
  constexpr int kPxPerDegree = 4;
  lull::files::Picture map = lull::files::make_picture({360 * kPxPerDegree, 180 * kPxPerDegree}, 1);
  Plane& plane = map.channels[0];
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const double latitude = 90 - (y + 0.5) / kPxPerDegree;
      const double longitude = (x + 0.5) / kPxPerDegree - 180;
      const double away = std::hypot(latitude - latitude_deg,
                                     (longitude - longitude_deg) * std::cos(latitude * kDegree));
      plane.row(y)[x] = static_cast<float>(std::exp(-0.5 * std::pow(away / 0.8, 2)));
    }
  }
  std::string path = folder.file("map.png");
  lull::files::write_picture(path, map.view(), {}, {});
  return path;
}

struct Place {
  double x = 0;
  double y = 0;
};

Place centroid(const Plane& plane) {
  double sum = 0;
  Place place;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const auto light = static_cast<double>(plane.row(y)[x]);
      sum += light;
      place.x += light * x;
      place.y += light * y;
    }
  }
  REQUIRE(sum > 0);
  return {place.x / sum, place.y / sum};
}

struct JointMoments {
  double mean = 0;  ///< of the first
  double covariance = 0;
};

JointMoments joint_moments(const Plane& a, const Plane& b) {
  double sum_a = 0;
  double sum_b = 0;
  double products = 0;
  for (int y = 0; y < a.height(); ++y) {
    for (int x = 0; x < a.width(); ++x) {
      const auto value_a = static_cast<double>(a.row(y)[x]);
      const auto value_b = static_cast<double>(b.row(y)[x]);
      sum_a += value_a;
      sum_b += value_b;
      products += value_a * value_b;
    }
  }
  const auto count = static_cast<double>(a.size().area_px());
  return {sum_a / count, products / count - sum_a / count * (sum_b / count)};
}

}  // namespace

TEST_SUITE("lab/scene") {
  TEST_CASE("a photograph is scaled as scikit-image does, its middle in the middle of the frame") {
    const std::string photograph = "/usr/lib/python3/dist-packages/skimage/data/moon.png";
    const TemporaryFolder folder;
    const std::string expected_file = folder.file("expected");
    // 2 x 2 means of the 512 x 512 px lunar photograph that comes with python3-skimage.
    std::ofstream(folder.file("means.py"))
        << "import sys, skimage.io, skimage.transform\n"
           "picture = skimage.io.imread(sys.argv[1]).astype('f8')\n"
           "means = skimage.transform.downscale_local_mean(picture, (2, 2))\n"
           "means.astype('f4').tofile(sys.argv[2])\n";
    const auto made = lull::test::run_python(folder.file("means.py"), {photograph, expected_file});
    CAPTURE(made.errors);
    REQUIRE(made.status == 0);
    constexpr int kSide = 256;
    Parameters p;
    p.scene.kind = "image";
    p.scene.image = photograph;
    p.scene.image_px_per_px = 2;
    const auto planes = make_scene(p, canvas_of(kSide));
    REQUIRE(planes.size() == 1);
    std::vector<float> expected(std::size_t{kSide} * kSide);
    std::ifstream(expected_file, std::ios::binary)
        .read(reinterpret_cast<char*>(expected.data()),
              static_cast<std::streamsize>(expected.size() * sizeof(float)));
    const float most = *std::max_element(expected.begin(), expected.end());
    double worst = 0;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) {
        const float want = expected[static_cast<std::size_t>(std::ptrdiff_t{y} * kSide + x)] / most;
        worst = std::max(worst, static_cast<double>(std::abs(planes[0].row(y)[x] - want)));
      }
    }
    CHECK(worst < 1e-5);  // rounding of 32-bit floats
  }

  TEST_CASE("a map lies on the sphere as an orthographic projection shows it") {
    // Snyder 1987, Map Projections - A Working Manual (USGS Professional Paper 1395), numerical
    // example of the orthographic projection, from memory: seen from latitude 40, the place at
    // latitude 30 and 10 degrees west of the middle lies at x = -0.1503837, y = -0.1651911 (up).
    const TemporaryFolder folder;
    constexpr double kRadius = 100;
    Parameters p;
    p.scene.kind = "sphere";
    p.scene.image = map_with_spot(folder, 30, -10);
    p.scene.radius_px = kRadius;
    p.scene.limb_darkening = 0;
    p.scene.axis_deg = 0;
    p.scene.ring_opening_deg = 40;  // the latitude of the centre
    p.scene.ring_inner = 1.04;      // a ring that does not reach into the frame
    p.scene.ring_outer = 1.05;
    for (const int fineness : {1, 2}) {
      CAPTURE(fineness);
      const Canvas canvas = canvas_of(81, fineness);
      const Place place = centroid(make_scene(p, canvas)[0]);
      const double x = (canvas.to_frame(place.x) - 40) / kRadius;
      const double y = (canvas.to_frame(place.y) - 40) / kRadius;
      CHECK(x == doctest::Approx(-0.1503837).epsilon(0.003));
      CHECK(y == doctest::Approx(0.1651911).epsilon(0.003));
    }
  }

  TEST_CASE("ground has the detail that is asked for, in the same places") {
    Parameters p;
    const Canvas canvas = canvas_of(128);
    const Plane strong = lull::lab::cratered_ground(p.scene, canvas, 3);
    p.scene.detail = 0.03;
    const Plane faint = lull::lab::cratered_ground(p.scene, canvas, 3);
    const JointMoments weak = joint_moments(faint, faint);
    CHECK(std::sqrt(weak.covariance) / weak.mean == doctest::Approx(0.03).epsilon(1e-3));
    const JointMoments both = joint_moments(faint, strong);
    const double correlation =
        both.covariance / std::sqrt(weak.covariance * joint_moments(strong, strong).covariance);
    CHECK(correlation == doctest::Approx(1).epsilon(1e-4));
  }

  TEST_CASE("prominences stand beyond the limb, each a loop on it, and leave the disc as it is") {
    Parameters p;
    p.scene = {.kind = "sun", .centre_x_px = -150, .radius_px = 130, .spots = 2};
    const Canvas canvas{256, 256, 0, 1};
    const Plane without = lull::lab::solar_disc(p.scene, canvas, 4);
    p.scene.prominences = 3;
    const Plane with = lull::lab::solar_disc(p.scene, canvas, 4);
    double beyond = 0;
    double furthest = 0;
    for (int y = 0; y < 256; ++y) {
      for (int x = 0; x < 256; ++x) {
        const double height = std::hypot(x - 127.5 + 150, y - 127.5) - 130;
        const auto added = static_cast<double>(with.row(y)[x] - without.row(y)[x]);
        if (height < -0.5) CHECK(added == 0);
        CHECK(added >= 0);
        beyond += added;
        if (added > 0.01) furthest = std::max(furthest, height);
      }
    }
    CHECK(beyond > 10);   // some 100 px of a tenth of the disc's light
    CHECK(furthest > 8);  // the smallest loop's radius
    CHECK(furthest < 2 * 22);
  }

  TEST_CASE("pictures and maps that cannot be read are reported by name") {
    Parameters p;
    p.scene.image = "nowhere.png";
    for (const char* kind : {"image", "sphere"}) {
      p.scene.kind = kind;
      CHECK_THROWS_WITH_AS(static_cast<void>(make_scene(p, canvas_of(32))),
                           doctest::Contains("nowhere.png"), lull::InputError);
    }
  }
}
