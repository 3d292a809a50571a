#include "capture/bit_depth.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <vector>

#include "support/bytes.h"
#include "support/memory_capture.h"
#include "support/moving_disc.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/bit_depth") {
  namespace {

  constexpr int kWidth = 64;
  constexpr std::size_t kSamples = std::size_t{64} * 48;

  /// What is concluded from pictures of 16-bit words.
  TrueDepth concluded(const std::vector<Bytes>& pictures, int stated_bits) {
    BitDepthEstimator estimator;
    for (const Bytes& picture : pictures) {
      std::vector<std::uint16_t> words(picture.size() / 2);
      std::memcpy(words.data(), picture.data(), picture.size());
      Frame frame;
      frame.planes[0] = {reinterpret_cast<const std::byte*>(words.data()), kWidth,
                         static_cast<int>(words.size()) / kWidth, std::ptrdiff_t{2} * kWidth,
                         SampleType::u16};
      estimator.add(frame);
    }
    return estimator.estimate(stated_bits);
  }

  /// Every word changed by a function.
  template <class Change>
  std::vector<Bytes> changed(std::vector<Bytes> pictures, Change change) {
    for (Bytes& picture : pictures) {
      for (std::size_t at = 0; at < picture.size(); at += 2) {
        std::uint16_t word = 0;
        std::memcpy(&word, picture.data() + at, 2);
        word = static_cast<std::uint16_t>(change(word));
        std::memcpy(picture.data() + at, &word, 2);
      }
    }
    return pictures;
  }

  }  // namespace

  TEST_CASE("12 and 14 bits at the low end of 16") {
    for (const int bits : {12, 14}) {
      CAPTURE(bits);
      const TrueDepth depth = concluded(pictures_16(3, kSamples, kWidth, bits, 0), 0);
      CHECK(depth.bits == bits);
      CHECK_FALSE(depth.high_aligned);
      CHECK(depth.full_scale == (1 << bits) - 1);
    }
  }

  TEST_CASE("8 to 14 bits at the high end, zeros below: full scale is the top value shifted up") {
    for (const int bits : {8, 10, 12, 14}) {
      CAPTURE(bits);
      const TrueDepth depth = concluded(pictures_16(3, kSamples, kWidth, bits, 16 - bits), 0);
      CHECK(depth.bits == bits);
      CHECK(depth.high_aligned);
      CHECK(depth.full_scale == ((1 << bits) - 1) << (16 - bits));
      CHECK(depth.scale().to_light(depth.full_scale) == doctest::Approx(1));
    }
  }

  TEST_CASE("samples stretched to 65535 by repeating their top bits") {
    for (const int bits : {10, 12, 14}) {
      CAPTURE(bits);
      const auto stretched = changed(pictures_16(3, kSamples, kWidth, bits, 0), [bits](unsigned v) {
        return (v << (16 - bits)) | (v >> (2 * bits - 16));
      });
      const TrueDepth depth = concluded(stretched, 0);
      CHECK(depth.bits == bits);
      CHECK(depth.high_aligned);
      CHECK(depth.full_scale == 65535);
    }
  }

  TEST_CASE("full 16 bits stay 16 bits") {
    const TrueDepth depth = concluded(pictures_16(3, kSamples, kWidth, 16, 0), 0);
    CHECK(depth.bits == 16);
    CHECK_FALSE(depth.high_aligned);
    CHECK(depth.full_scale == 65535);
  }

  TEST_CASE("a dim capture is not taken for a narrow one unless it saturates there") {
    const auto dim = pictures_16(3, kSamples, kWidth, 10, 0);
    CHECK(concluded(dim, 0).bits == 12);
    const auto saturated = changed(dim, [](unsigned v) { return std::min(2 * v, 1023U); });
    CHECK(concluded(saturated, 0).bits == 10);
  }

  TEST_CASE("the depth of the header is used where the samples allow it, at either end") {
    const auto low = pictures_16(3, kSamples, kWidth, 11, 0);
    CHECK(concluded(low, 14).bits == 14);
    CHECK_FALSE(concluded(low, 14).high_aligned);
    const TrueDepth high = concluded(pictures_16(3, kSamples, kWidth, 12, 4), 12);
    CHECK(high.bits == 12);
    CHECK(high.high_aligned);
    CHECK_FALSE(high.header_was_wrong);
    const TrueDepth coarse = concluded(pictures_16(3, kSamples, kWidth, 10, 6), 12);
    CHECK(coarse.bits == 12);
    CHECK(coarse.full_scale == 65520);
    const TrueDepth wrong = concluded(pictures_16(3, kSamples, kWidth, 16, 0), 12);
    CHECK(wrong.bits == 16);
    CHECK(wrong.header_was_wrong);
  }

  TEST_CASE("black frames and a bare offset say nothing: 16 bits, or the header's word") {
    const std::vector<Bytes> black(2, Bytes(2 * kSamples));
    CHECK(concluded(black, 0).bits == 16);
    CHECK(concluded(black, 12).bits == 12);
    const auto offset = changed(black, [](unsigned) { return 64U; });
    CHECK_FALSE(concluded(offset, 0).high_aligned);
  }
}
