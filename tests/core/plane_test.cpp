#include "core/plane.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <vector>

#include "core/samples.h"

TEST_SUITE("core/plane") {
  TEST_CASE("starts at zero, with rows that vector loads like, and crops by box") {
    lull::Plane plane(37, 5);
    for (int y = 0; y < 5; ++y) {
      CHECK(reinterpret_cast<std::uintptr_t>(plane.row(y)) % 64 == 0);
      for (int x = 0; x < 37; ++x) {
        CHECK(plane.row(y)[x] == 0);
        plane.row(y)[x] = static_cast<float>(100 * y + x);
      }
    }
    const auto part = plane.view().crop({30, 2, 37, 5});
    CHECK(part.width_px == 7);
    CHECK(part.height_px == 3);
    CHECK(part.row(0)[0] == 230);
    CHECK(part.row(2)[6] == 436);
    const lull::Plane copy = lull::Plane::copy_of(part);
    CHECK(copy.row(2)[6] == 436);
    lull::add(plane.view().crop({0, 0, 7, 3}), copy.view());
    CHECK(plane.row(1)[2] == 102 + 332);
    lull::scale(plane.view().crop({0, 1, 7, 2}), 0.5F);
    CHECK(plane.row(1)[2] == 217);
    CHECK(plane.row(1)[7] == 107);
  }

  TEST_CASE("mean and weighted sum of planes") {
    lull::Plane a(3, 2);
    lull::Plane b(3, 2);
    a.fill(1);
    b.fill(4);
    b.row(1)[2] = 8;
    const lull::Plane mean = lull::mean_plane({a.view(), b.view()});
    CHECK(mean.row(0)[0] == 2.5F);
    CHECK(mean.row(1)[2] == 4.5F);
    CHECK(lull::mean_plane({b.view()}).row(1)[2] == 8);
    const lull::Plane sum = lull::weighted_sum(a.view(), -0.5F, b.view());
    CHECK(sum.row(0)[1] == -1);
    CHECK(sum.row(1)[2] == -3);
  }

  // BT.709-6, 3.4: video levels of luma, 16 to 235 of 8 bits.
  TEST_CASE("stored samples become light by black level and full scale") {
    const std::vector<std::uint8_t> bytes = {16, 235, 0, 255, 16, 16};
    const lull::SampleView view{reinterpret_cast<const std::byte*>(bytes.data()), 2, 2, 3,
                                lull::SampleType::u8};
    lull::Plane out(2, 2);
    lull::to_plane(view, {16, 1.0 / 219}, out.view());
    CHECK(out.row(0)[0] == 0);
    CHECK(out.row(0)[1] == doctest::Approx(1).epsilon(1e-6));
    CHECK(out.row(1)[0] == doctest::Approx((255 - 16) / 219.0).epsilon(1e-6));  // the stride is 3
    CHECK(out.row(1)[1] == 0);
  }
}
