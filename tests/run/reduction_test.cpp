// Covers: run/reduction, run/disk_need
#include "run/reduction.h"

#include <doctest/doctest.h>

#include <utility>

#include "core/error.h"
#include "run/disk_need.h"
#include "support/text.h"

TEST_SUITE("run/reduction") {
  using namespace lull;

  TEST_CASE("means over what is covered; parts may end within a square") {
    const Size size{10, 7};
    run::Reduction reduction(size, 1, 9);  // 70 px to 9: squares of 3
    CHECK(reduction.side() == 3);
    files::Picture picture;
    Plane& light = picture.channels.emplace_back(size);
    Plane covered(size);
    for (int y = 0; y < 7; ++y) {
      for (int x = 0; x < 10; ++x) {
        light.row(y)[x] = static_cast<float>(10 * y + x);
        covered.row(y)[x] = x == 4 || y > 5 ? 0.0F : 1.0F;
      }
    }
    for (const Box& box : {Box{5, 0, 10, 7}, Box{0, 0, 5, 7}}) {
      files::PictureView part;
      part.channels.push_back(std::as_const(light).view().crop(box));
      reduction.add(part, std::as_const(covered).view().crop(box), box.x0, box.y0);
    }
    const files::Picture out = reduction.picture();
    CHECK(out.size() == Size{4, 3});
    CHECK(out.channels[0].row(0)[0] == doctest::Approx(11));
    CHECK(out.channels[0].row(0)[1] == doctest::Approx(14));  // of columns 3 and 5
    CHECK(out.channels[0].row(1)[3] == doctest::Approx(49));  // one column alone
    CHECK(out.channels[0].row(2)[0] == 0);                    // row 6 alone, not covered
    CHECK(reduction.covered().row(0)[1] == doctest::Approx(2.0 / 3));
    CHECK(reduction.covered().row(1)[3] == 1);
  }

  TEST_CASE("single pixels, evenly spread, a million at most") {
    const Size size{3001, 1203};
    run::PixelSample sample(size, 1);
    files::Picture picture;
    Plane& light = picture.channels.emplace_back(size);
    for (int y = 0; y < size.height_px; ++y)
      for (int x = 0; x < size.width_px; ++x) light.row(y)[x] = static_cast<float>(x + 4000 * y);
    for (const Box& box : {Box{0, 0, 1001, 1203}, Box{1001, 0, 3001, 1203}}) {
      files::PictureView part;
      part.channels.push_back(std::as_const(light).view().crop(box));
      sample.add(part, box.x0, box.y0);
    }
    const Plane& out = sample.picture().channels.front();
    CHECK(out.size() == Size{1501, 602});
    CHECK(out.row(601)[1500] == static_cast<float>(3000 + 4000 * 1202));
    CHECK(out.row(3)[501] == static_cast<float>(1002 + 4000 * 6));
  }

  TEST_CASE("a disk that is too small is told with both numbers, before the work") {
    run::require_disk("a mosaic", 1e9, 2e9, "/data");
    CHECK(test::contains(
        test::message_of<OutputError>([] { run::require_disk("a mosaic", 5.4e9, 2e9, "/data"); }),
        "a mosaic needs 5.4 GB on the disk of '/data', and 2.0 GB are free"));
  }
}
