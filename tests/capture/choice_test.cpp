// Covers: capture/layout_choice, capture/pixel_format_choice
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "capture/capture.h"
#include "core/error.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

namespace {

constexpr int kHeight = 48;

std::size_t pixels(int width_px) { return static_cast<std::size_t>(width_px) * kHeight; }

/// Message of the UsageError that opening gives; empty if it opens.
std::string refusal(const std::string& path, const OpenOptions& options) {
  try {
    static_cast<void>(Capture::open(path, options));
  } catch (const UsageError& error) {
    return error.what();
  }
  return {};
}

}  // namespace

TEST_SUITE("capture/choice") {
  // AVI rows are filled up to four bytes, those of 65 words are not full: written by FFmpeg's own
  // muxer, which makes rgb555 of gray16 (libavformat/avienc.c).
  TEST_CASE("16-bit gray in AVI is read sample by sample, rows filled up or not") {
    for (const int width_px : {64, 65, 66, 67}) {
      CAPTURE(width_px);
      const TemporaryFolder folder;
      const auto pictures = pictures_16(4, pixels(width_px), width_px, 12, 0);
      write_video(folder.file("deep.avi"), {.pixel_format = "gray16le", .width_px = width_px},
                  pictures);
      const auto capture = Capture::open(folder.file("deep.avi"), {.pixel_format = "gray16le"});
      CHECK(capture->info().storage.pixel_format == "gray16le");
      CHECK(capture->info().bits.used == 12);
      CHECK(all_frames(*capture) == pictures);
      const auto third = capture->at(2);
      REQUIRE(third.ok());
      CHECK(bytes_in(third.value()) == pictures[2]);
    }
  }

  TEST_CASE("a frame of an unknown tag is read when its pixel format is given") {
    const TemporaryFolder folder;
    const std::string path = folder.file("unknown.avi");
    const auto pictures = pictures_8(3, pixels(64), 64);
    write_video(path, {.pixel_format = "gray"}, pictures);
    Bytes file = read_file(path);
    bool found = false;
    for (std::size_t at = find_text(file, "Y800"); at != SIZE_MAX; at = find_text(file, "Y800")) {
      put_integer(file, at, 0x31415A5A);  // "ZZA1"
      found = true;
    }
    REQUIRE(found);
    write_file(path, file);
    CHECK(contains(refusal_of(path), "--pixel-format"));
    const auto capture = Capture::open(path, {.pixel_format = "bayer_gbrg8"});
    CHECK(capture->info().cfa == Cfa::gbrg);
    CHECK(all_frames(*capture) == pictures);
  }

  TEST_CASE("a pixel format is refused where its bytes do not fit or frames are coded") {
    const TemporaryFolder folder;
    write_video(folder.file("raw.nut"), {.pixel_format = "gray"}, pictures_8(2, pixels(64), 64));
    write_video(folder.file("coded.mkv"), {.codec = "ffv1"}, pictures_8(2, pixels(64), 64));
    const std::string wrong_size = refusal(folder.file("raw.nut"), {.pixel_format = "gray16le"});
    CHECK(contains(wrong_size, "6144 bytes"));
    CHECK(contains(wrong_size, "3072"));
    CHECK(contains(refusal(folder.file("coded.mkv"), {.pixel_format = "gray"}), "ffv1"));
    CHECK(contains(refusal(folder.file("raw.nut"), {.pixel_format = "rgb565le"}), "rgb565le"));
    const auto lenient = Capture::open(folder.file("raw.nut"),
                                       {.pixel_format = "gray16le", .misfit = Misfit::left_out});
    CHECK(lenient->info().storage.pixel_format == "gray");
  }

  TEST_CASE("a mosaic stored as gray becomes one, and a mosaic can be read as mono") {
    const TemporaryFolder folder;
    write_video(folder.file("mono.mkv"), {.codec = "ffv1"}, pictures_8(2, pixels(64), 64));
    write_video(folder.file("mosaic.nut"), {.pixel_format = "bayer_rggb8"},
                pictures_8(2, pixels(64), 64));
    const auto mosaic = Capture::open(folder.file("mono.mkv"), {.cfa = Cfa::grbg});
    CHECK(mosaic->info().colour == Colour::cfa);
    CHECK(mosaic->info().cfa == Cfa::grbg);
    const auto other = Capture::open(folder.file("mosaic.nut"), {.cfa = Cfa::bggr});
    CHECK(other->info().cfa == Cfa::bggr);
    const auto mono = Capture::open(folder.file("mosaic.nut"), {.cfa = Cfa::none});
    CHECK(mono->info().colour == Colour::mono);
    CHECK(mono->info().cfa == Cfa::none);
  }

  TEST_CASE("a mosaic of frames that have colours is refused, none is no contradiction") {
    const TemporaryFolder folder;
    for (const std::string format : {"bgr24", "yuv444p"}) {
      CAPTURE(format);
      const std::string path = folder.file(format == "bgr24" ? "rgb.nut" : "yuv.mkv");
      const std::string codec = format == "bgr24" ? "rawvideo" : "ffv1";
      write_video(path, {.codec = codec, .pixel_format = format},
                  pictures_8(2, 3 * pixels(64), 64));
      CHECK(contains(refusal(path, {.cfa = Cfa::rggb}), "--cfa RGGB"));
      CHECK(refusal(path, {.cfa = Cfa::none}).empty());
      CHECK(refusal(path, {.cfa = Cfa::rggb, .misfit = Misfit::left_out}).empty());
    }
  }

  TEST_CASE("raw words are taken in the byte order that was asked for") {
    const TemporaryFolder folder;
    auto native = pictures_16(3, pixels(64), 64, 12, 0);
    write_video(folder.file("deep.nut"), {.pixel_format = "gray16le"}, native);
    const auto as_said = Capture::open(folder.file("deep.nut"), {.byte_order = ByteOrder::little});
    CHECK(all_frames(*as_said) == native);
    for (Bytes& picture : native) {
      for (std::size_t i = 0; i < picture.size(); i += 2) std::swap(picture[i], picture[i + 1]);
    }
    const auto turned = Capture::open(folder.file("deep.nut"), {.byte_order = ByteOrder::big});
    CHECK(all_frames(*turned) == native);
    write_video(folder.file("byte.nut"), {.pixel_format = "gray"}, pictures_8(2, pixels(64), 64));
    CHECK(contains(refusal(folder.file("byte.nut"), {.byte_order = ByteOrder::big}), "one byte"));
  }
}
