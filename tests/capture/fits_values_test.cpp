#include "capture/fits_values.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "support/text.h"

using namespace lull::capture;

namespace {

const float kNone = std::numeric_limits<float>::quiet_NaN();

}  // namespace

TEST_SUITE("capture/fits_values") {
  TEST_CASE("a hole in a plane of even slope is filled by that slope") {
    // What grows evenly along a row and is the same in a column: worked out by hand, 1/d weights.
    constexpr int kWidth = 9;
    std::vector<float> plane;
    for (int y = 0; y < 7; ++y) {
      for (int x = 0; x < kWidth; ++x) plane.push_back(100.0F + 10.0F * static_cast<float>(x));
    }
    std::vector<float> spoilt = plane;
    spoilt[3 * kWidth + 4] = kNone;
    spoilt[5 * kWidth + 2] = std::numeric_limits<float>::infinity();
    fill_undefined(spoilt, kWidth, 1);
    for (std::size_t i = 0; i < plane.size(); ++i) CHECK(std::abs(spoilt[i] - plane[i]) < 1e-4F);
  }

  TEST_CASE("the weights are those of the distances") {
    std::vector<float> row = {10, kNone, kNone, 40};
    fill_undefined(row, 4, 1);
    CHECK(std::abs(row[1] - 20) < 1e-5F);  // (10 / 1 + 40 / 2) / (1 + 1/2)
    CHECK(std::abs(row[2] - 30) < 1e-5F);
  }

  TEST_CASE("the colours of a mosaic stay apart") {
    constexpr int kWidth = 8;
    std::vector<float> plane;
    for (int y = 0; y < 8; ++y) {
      for (int x = 0; x < kWidth; ++x)
        plane.push_back(static_cast<float>(100 * (y % 2) + 10 * (x % 2)) + 1);
    }
    std::vector<float> spoilt = plane;
    for (const std::size_t at : {27U, 28U, 35U, 36U, 0U, 63U}) spoilt[at] = kNone;
    fill_undefined(spoilt, kWidth, 2);
    CHECK(spoilt == plane);
  }

  TEST_CASE("without any value nothing is made up") {
    std::vector<float> plane(12, kNone);
    fill_undefined(plane, 4, 2);
    for (const float value : plane) CHECK(std::isnan(value));
    std::vector<float> narrow = {kNone};
    fill_undefined(narrow, 1, 2);
    CHECK(std::isnan(narrow[0]));
  }

  TEST_CASE("one sample of 1e30 is reported, an ordinary range is not") {
    FitsRange range;
    std::vector<float> values(5000);
    for (std::size_t i = 0; i < values.size(); ++i) values[i] = 0.5F + static_cast<float>(i % 97);
    range.add(values);
    CHECK(range.warning().empty());
    values[7] = 1e30F;
    range.add(values);
    CHECK(lull::test::contains(range.warning(), "the highest value, 1e+30"));
    FitsRange dark;
    dark.add(std::vector<float>(100, 0.0F));
    CHECK(dark.warning().empty());
    // A star in the dark is no stray value: 2^14 times the sky.
    FitsRange star;
    std::vector<float> sky(5000, 1.0F);
    sky[0] = 16384.0F;
    star.add(sky);
    CHECK(star.warning().empty());
  }
}
