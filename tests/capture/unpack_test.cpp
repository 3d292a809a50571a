#include "capture/unpack.h"

#include <doctest/doctest.h>

#include <cstring>

using namespace lull;
using namespace lull::capture;

TEST_SUITE("capture/unpack") {
  namespace {

  constexpr int kWidth = 20;
  constexpr int kHeight = 7;

  /// A picture whose rows begin `offset` bytes into its own memory; every byte is different from
  /// its neighbours.
  AvFrame picture(AVPixelFormat format, int row_bytes, int offset) {
    auto frame = owned<AvFrame>(av_frame_alloc());
    frame->format = format;
    frame->width = kWidth;
    frame->height = kHeight;
    frame->buf[0] =
        av_buffer_alloc(static_cast<std::size_t>(std::ptrdiff_t{row_bytes} * kHeight + offset));
    REQUIRE(frame->buf[0] != nullptr);
    for (std::size_t i = 0; i < frame->buf[0]->size; ++i) {
      frame->buf[0]->data[i] = static_cast<std::uint8_t>(i * 37);
    }
    frame->data[0] = frame->buf[0]->data + offset;
    frame->linesize[0] = row_bytes;
    return frame;
  }

  struct Unpacked {
    bool in_place;
    std::uint16_t sample;  ///< column 3 of row 2
  };

  Unpacked unpacked(AVPixelFormat format, int row_bytes, int offset) {
    AvFrame given = picture(format, row_bytes, offset);
    const auto* data = reinterpret_cast<const std::byte*>(given->data[0]);
    const PixelLayout layout = layout_of("test", *given);
    const Frame frame = unpack(std::move(given), layout, 0);
    const bool wide = layout.type == SampleType::u16;
    const std::uint16_t sample =
        wide ? frame.planes[0].row<std::uint16_t>(2)[3] : frame.planes[0].row<std::uint8_t>(2)[3];
    return {frame.planes[0].data == data, sample};
  }

  /// Byte of the pictures above.
  unsigned byte_at(int offset) { return static_cast<std::uint8_t>(offset * 37); }

  }  // namespace

  TEST_CASE("raw gray and mosaics of 8 and 16 bits are used where they stand") {
    CHECK(unpacked(AV_PIX_FMT_GRAY8, 24, 0).in_place);
    CHECK(unpacked(AV_PIX_FMT_GRAY8, 24, 1).in_place);
    CHECK(unpacked(AV_PIX_FMT_BAYER_GRBG8, 24, 0).in_place);
    CHECK(unpacked(AV_PIX_FMT_GRAY16LE, 48, 0).in_place);
    CHECK(unpacked(AV_PIX_FMT_BAYER_RGGB16LE, 48, 2).in_place);
    CHECK(unpacked(AV_PIX_FMT_GRAY8, 24, 0).sample == byte_at(2 * 24 + 3));
    CHECK(unpacked(AV_PIX_FMT_GRAY16LE, 48, 0).sample ==
          (byte_at(2 * 48 + 6) | byte_at(2 * 48 + 7) << 8));
  }

  TEST_CASE("16-bit samples at odd addresses are copied, big-endian ones exchanged") {
    const Unpacked odd = unpacked(AV_PIX_FMT_GRAY16LE, 48, 1);
    CHECK_FALSE(odd.in_place);
    CHECK(odd.sample == (byte_at(1 + 2 * 48 + 6) | byte_at(1 + 2 * 48 + 7) << 8));
    const Unpacked big = unpacked(AV_PIX_FMT_GRAY16BE, 48, 0);
    CHECK_FALSE(big.in_place);
    CHECK(big.sample == (byte_at(2 * 48 + 7) | byte_at(2 * 48 + 6) << 8));
  }
}
