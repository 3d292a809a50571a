#include "files/picture.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <limits>
#include <span>

#include "core/error.h"

using namespace lull;
using namespace lull::files;

namespace {

struct Encoded {
  std::vector<std::uint16_t> values;
  Clipped clipped;
};

Encoded encode(const std::vector<float>& samples, const Encoding& encoding) {
  const int width_px = static_cast<int>(samples.size());
  const PlaneView plane = {samples.data(), width_px, 1, width_px};
  Encoded encoded;
  encoded.values.resize(samples.size());
  encoded.clipped = encode_row(std::span(&plane, 1), 0, encoding, encoded.values);
  return encoded;
}

}  // namespace

TEST_SUITE("files/picture") {
  TEST_CASE("black is 0, white 65535, the middle is rounded to nearest") {
    // By hand: 0.25 * 65535 = 16383.75; 1/65535 is one step.
    const Encoded encoded = encode({0.0F, 1.0F, 0.25F, 1.0F / 65535.0F, 0.4F / 65535.0F}, {});
    CHECK(encoded.values == std::vector<std::uint16_t>{0, 65535, 16384, 1, 0});
    CHECK(encoded.clipped == Clipped{0, 0});
  }

  TEST_CASE("every 16-bit value survives the way to float and back") {
    std::vector<float> samples;
    std::vector<std::uint16_t> expected;
    for (int value = 0; value <= 65535; ++value) {
      samples.push_back(static_cast<float>(value) / 65535.0F);
      expected.push_back(static_cast<std::uint16_t>(value));
    }
    CHECK(encode(samples, {}).values == expected);
  }

  TEST_CASE("clamped samples are counted, rounding alone is not clamping") {
    const float nan = std::numeric_limits<float>::quiet_NaN();
    const float infinity = std::numeric_limits<float>::infinity();
    const float third_of_a_step = 0.3F / 65535.0F;
    const Encoded encoded = encode(
        {-0.1F, 1.1F, 2.0F, -third_of_a_step, 1.0F + third_of_a_step, nan, infinity, -infinity},
        {});
    CHECK(encoded.values == std::vector<std::uint16_t>{0, 65535, 65535, 0, 65535, 0, 65535, 0});
    CHECK(encoded.clipped == Clipped{3, 3});
  }

  TEST_CASE("black and white points move the scale") {
    // By hand: (0.5 - 0.25) / (0.75 - 0.25) = 1/2 -> 32767.5, rounded up.
    const Encoded encoded = encode({0.25F, 0.5F, 0.75F}, {0.25, 0.75});
    CHECK(encoded.values == std::vector<std::uint16_t>{0, 32768, 65535});
  }

  TEST_CASE("channels are interleaved, padded strides are followed") {
    std::array<float, 8> memory = {0, 0, 9, 9, 1, 1, 9, 9};
    const std::array<PlaneView, 3> channels = {PlaneView{memory.data(), 2, 2, 4},
                                               PlaneView{memory.data() + 4, 2, 1, 4},
                                               PlaneView{memory.data(), 2, 2, 4}};
    std::array<std::uint16_t, 6> row = {};
    encode_row(channels, 0, {}, row);
    CHECK(row == std::array<std::uint16_t, 6>{0, 65535, 0, 0, 65535, 0});
  }

  TEST_CASE("impossible sizes and scales are refused") {
    const Picture picture = make_picture({4, 3}, 1);
    CHECK_THROWS_AS(check_picture(picture.view(), {1.0, 1.0}), UsageError);
    CHECK_THROWS_AS(check_picture(picture.view(), {0.0, std::nan("")}), UsageError);
    CHECK_THROWS_AS(check_picture(make_picture({0, 3}, 1).view(), {}), OutputError);
    const PictureView huge = {{PlaneView{nullptr, 20000, 20000, 20000}}};
    CHECK_THROWS_AS(check_picture(huge, {}), OutputError);
    CHECK_NOTHROW(check_picture(picture.view(), {}));
  }
}
