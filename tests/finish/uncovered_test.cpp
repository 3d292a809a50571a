#include "finish/uncovered.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

using namespace lull;

TEST_SUITE("finish/uncovered") {
  TEST_CASE("what is covered stays; a gap goes on from its rim, within what stands around it") {
    const Size size{90, 70};
    Plane picture(size);
    Plane covered(size);
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const bool gap = x > 30 && x < 55 && y > 20;
        covered.row(y)[x] = gap ? 0.0F : 1.0F;
        picture.row(y)[x] = gap ? 9.0F : 0.4F + 0.002F * static_cast<float>(x);
      }
    }
    const Plane whole = finish::continued_over(picture.view(), covered.view());
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        if (covered.row(y)[x] > 0)
          CHECK(whole.row(y)[x] == picture.row(y)[x]);
        else
          CHECK((whole.row(y)[x] > 0.39F && whole.row(y)[x] < 0.6F));
      }
    }
    CHECK(std::abs(whole.row(45)[31] - whole.row(45)[30]) < 0.02F);
    CHECK(std::abs(whole.row(45)[54] - whole.row(45)[55]) < 0.02F);
  }

  TEST_CASE("cleared where nothing is shown, and nowhere else") {
    Plane picture(Size{4, 1});
    picture.fill(2);
    Plane covered(Size{4, 1});
    covered.row(0)[1] = 1;
    finish::clear_uncovered(picture, covered.view());
    CHECK(std::vector<float>(picture.row(0), picture.row(0) + 4) == std::vector<float>{0, 2, 0, 0});
  }
}
