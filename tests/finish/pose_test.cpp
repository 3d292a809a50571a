#include "finish/pose.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

using namespace lull;

namespace {

constexpr Size kOblong = {23, 14};

Plane scene(Size size) {
  return test::Scene(size, 7, 1.5, 5.0).seen(size, [](int, int) { return Displacement{}; });
}

// The plane as `a`, what the script leaves in `b`.
std::vector<float> by_python(const Plane& plane, const std::string& script) {
  const test::TemporaryFolder folder;
  std::vector<double> samples;
  for (int y = 0; y < plane.height(); ++y)
    samples.insert(samples.end(), plane.row(y), plane.row(y) + plane.width());
  test::write_values(folder / "in", samples);
  const test::Run run =
      test::run_program({"/usr/bin/python3", "-c",
                         "import sys, numpy as np\n"
                         "from scipy import ndimage\n"
                         "a = np.fromfile(sys.argv[1]).reshape(" +
                             std::to_string(plane.height()) + ", -1)\n" + script +
                             "np.ascontiguousarray(b, np.float32).tofile(sys.argv[2])\n",
                         folder.file("in"), folder.file("out")});
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return test::values_of<float>(folder / "out");
}

}  // namespace

TEST_SUITE("finish/pose") {
  // numpy.fliplr, flipud and rot90, whose k counts counter-clockwise.
  TEST_CASE("flips and quarter turns are those of numpy, to the bit") {
    const Plane picture = scene(kOblong);
    const std::vector<std::pair<Turn, std::string>> flips = {
        {Turn::none, "a"}, {Turn::left_right, "np.fliplr(a)"}, {Turn::up_down, "np.flipud(a)"}};
    for (const auto& one : flips) {
      const Turn flip = one.first;
      const std::string& flipped = one.second;
      for (const int quarters : {0, 1, 2, 3, -1, -4}) {
        CAPTURE(flipped);
        CAPTURE(quarters);
        const finish::Pose pose = {flip, 90.0 * quarters};
        const Plane out = finish::posed(picture.view(), pose, -1);
        CHECK(out.size() == finish::posed_size(kOblong, pose));
        const auto expected = by_python(
            picture, "b = np.rot90(" + flipped + ", " + std::to_string(-quarters) + ")\n");
        REQUIRE(expected.size() == static_cast<std::size_t>(out.size().area_px()));
        for (int y = 0; y < out.height(); ++y) {
          for (int x = 0; x < out.width(); ++x) {
            REQUIRE(out.row(y)[x] ==
                    expected[static_cast<std::size_t>(y) * static_cast<std::size_t>(out.width()) +
                             static_cast<std::size_t>(x)]);
          }
        }
      }
    }
  }

  // scipy.ndimage.rotate, splines of order 3, whose angle counts counter-clockwise as seen.
  TEST_CASE("other angles are scipy's, within the picture; the corners are what was asked for") {
    constexpr int kSide = 41;
    const Plane picture = scene({kSide, kSide});
    const Plane out = finish::posed(picture.view(), {Turn::none, 30}, -1);
    // The smallest square around it: 41 (cos 30 + sin 30) = 56.006.
    REQUIRE(out.size() == Size{57, 57});
    const auto expected = by_python(picture,
                                    "b = ndimage.rotate(a, -30, reshape=False, order=3, "
                                    "mode='mirror')\n");
    const int border = (out.width() - kSide) / 2;
    for (int y = 6; y < kSide - 6; ++y) {
      for (int x = 6; x < kSide - 6; ++x) {
        CHECK(std::abs(out.row(y + border)[x + border] -
                       expected[static_cast<std::size_t>(y * kSide + x)]) < 2e-5F);
      }
    }
    for (const int y : {0, 56}) {
      for (const int x : {0, 56}) CHECK(out.row(y)[x] == -1);
    }
  }

  TEST_CASE("a pose that changes nothing gives the picture") {
    const Plane picture = scene(kOblong);
    CHECK_FALSE(finish::Pose{}.changes());
    CHECK(finish::Pose{Turn::none, 1}.changes());
    const Plane out = finish::posed(picture.view(), {}, 0);
    for (int y = 0; y < kOblong.height_px; ++y)
      CHECK(std::equal(out.row(y), out.row(y) + kOblong.width_px, picture.row(y)));
  }
}
