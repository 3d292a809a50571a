// Covers: capture/capture_times, capture/ser_byte_order, capture/ser_file
#include <doctest/doctest.h>

#include <cstring>
#include <memory>
#include <random>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/ffmpeg.h"
#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

// SER: 178-byte header, little-endian integers at 14 (LuID), 18 (ColorID), 22 (LittleEndian), 26
// (width), 30 (height), 34 (depth), 38 (frame count). Source: FFmpeg 5.1, libavformat/serdec.c.
// The trailer (one 64-bit time stamp a frame, 100 ns since 0001-01-01) is from memory.
TEST_SUITE("capture/ser_header") {
  namespace {

  constexpr std::size_t kHeader = 178, kColour = 18, kOrder = 22, kWidthAt = 26, kHeightAt = 30,
                        kDepth = 34, kCount = 38, kLocalDate = 162, kUtcDate = 170;
  constexpr int kWidth = 32;
  constexpr int kHeight = 24;
  constexpr std::size_t kPixels = std::size_t{kWidth} * kHeight;

  /// Header of the sample file, with another size, kind and count.
  Bytes header(int colour, int depth, int count, bool little_endian = true) {
    Bytes bytes = read_file(LULL_SAMPLES "/ringed_faint.ser");
    bytes.resize(kHeader);
    put_integer(bytes, kColour, colour);
    put_integer(bytes, kOrder, little_endian ? 1 : 0);
    put_integer(bytes, kWidthAt, kWidth);
    put_integer(bytes, kHeightAt, kHeight);
    put_integer(bytes, kDepth, depth);
    put_integer(bytes, kCount, count);
    return bytes;
  }

  void put_ticks(Bytes& bytes, std::size_t at, std::int64_t ticks) {
    REQUIRE(at + 8 <= bytes.size());
    std::memcpy(bytes.data() + at, &ticks, 8);
  }

  void append(Bytes& file, const Bytes& more) { file.insert(file.end(), more.begin(), more.end()); }

  Bytes with_frames(Bytes file, const std::vector<Bytes>& frames) {
    for (const Bytes& frame : frames) append(file, frame);
    return file;
  }

  /// Time stamps 0.02 s apart from 2022-09-28 22:13:20 on (638000000000000000 ticks, computed).
  Bytes trailer(int count) {
    Bytes bytes(static_cast<std::size_t>(count) * 8);
    for (int i = 0; i < count; ++i) {
      const std::int64_t ticks = 638'000'000'000'000'000 + std::int64_t{200'000} * i;
      std::memcpy(bytes.data() + std::ptrdiff_t{8} * i, &ticks, 8);
    }
    return bytes;
  }

  Bytes swapped(Bytes bytes) {
    for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) std::swap(bytes[i], bytes[i + 1]);
    return bytes;
  }

  std::unique_ptr<Capture> opened(const TemporaryFolder& folder, const Bytes& file,
                                  const OpenOptions& options = {}) {
    write_file(folder.file("test.ser"), file);
    return Capture::open(folder.file("test.ser"), options);
  }

  bool any_note_has(const CaptureInfo& info, const std::string& text) {
    for (const std::string& note : info.notes) {
      if (note.find(text) != std::string::npos) return true;
    }
    return false;
  }

  }  // namespace

  TEST_CASE("the sample gives the frames that ffmpeg gives, without the incomplete last one") {
    const auto capture = Capture::open(LULL_SAMPLES "/ringed_faint.ser");
    CHECK(capture->info().size == Size{240, 144});
    CHECK(capture->info().storage.header_frames == 304);
    CHECK(any_note_has(capture->info(), "304"));
    const auto frames = all_frames(*capture);
    CHECK(frames.size() == 303);  // (10505641 - 178) / (240 * 144) = 303.97
    CHECK(capture->tally().frames == 303);
    CHECK(capture->tally().damaged == 0);
    const auto reference =
        decoded_by_ffmpeg(LULL_SAMPLES "/ringed_faint.ser", "gray", std::size_t{240} * 144);
    CHECK(frames == reference);
  }

  TEST_CASE("a trailer gives times and rate, and never frames") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(6, kPixels, kWidth);
    // 120 stamps of 8 bytes are longer than a frame: libav alone would read them as pictures.
    for (const int promised : {6, 0, 500, 3}) {
      CAPTURE(promised);
      Bytes file = with_frames(header(0, 8, promised), pictures);
      append(file, trailer(6));
      const auto capture = opened(folder, file);
      CHECK(all_frames(*capture) == pictures);
      CHECK(capture->info().times.frames_per_s == doctest::Approx(50));
      const auto last = capture->at(5);
      REQUIRE(last.ok());
      CHECK(last.value().time_s == doctest::Approx(0.1));
      CHECK(any_note_has(capture->info(), "complete ones") == (promised != 6));
    }
  }

  TEST_CASE("a trailer longer than a frame, of more frames than were kept, gives no frames") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(4, kPixels, kWidth);
    Bytes file = with_frames(header(0, 8, 200), pictures);
    append(file, trailer(200));  // 1600 bytes: two frames of 768
    const auto capture = opened(folder, file);
    CHECK(all_frames(*capture) == pictures);
  }

  TEST_CASE("the first stamp is when the capture began; without stamps, the date of the header") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(6, kPixels, kWidth);
    Bytes file = with_frames(header(0, 8, 6), pictures);
    put_ticks(file, kUtcDate, 637'999'999'990'000'000);
    const auto by_header = opened(folder, file);
    REQUIRE(by_header->info().times.begun.has_value());
    CHECK(iso8601(*by_header->info().times.begun, 1) == "2022-09-28T22:13:19.0");
    CHECK_FALSE(by_header->info().times.utc_at(0).has_value());  // frames have no times
    append(file, trailer(6));
    const auto by_trailer = opened(folder, file);
    CHECK(iso8601(by_trailer->info().times.begun.value(), 1) == "2022-09-28T22:13:20.0");
    CHECK(iso8601(by_trailer->info().times.utc_at(0.1).value(), 1) == "2022-09-28T22:13:20.1");
  }

  TEST_CASE("stamps in local time are known by the two dates of the header") {
    const TemporaryFolder folder;
    Bytes file = with_frames(header(0, 8, 6), pictures_8(6, kPixels, kWidth));
    put_ticks(file, kLocalDate, 637'999'999'990'000'000);
    put_ticks(file, kUtcDate, 637'999'999'990'000'000 - 2 * 36'000'000'000);  // two hours behind
    append(file, trailer(6));
    const auto capture = opened(folder, file);
    CHECK(iso8601(capture->info().times.begun.value(), 1) == "2022-09-28T20:13:20.0");
    CHECK(any_note_has(capture->info(), "local time"));
  }

  TEST_CASE("implausible or truncated stamps are reported; they are neither times nor frames") {
    const TemporaryFolder folder;
    // 200 stamps take 1600 bytes: libav alone would read them as two pictures of 768.
    const auto pictures = pictures_8(200, kPixels, kWidth);
    const Bytes start = with_frames(header(0, 8, 200), pictures);
    const std::size_t stamp = std::size_t{8} * 100;
    const auto check = [&](const Bytes& stamps, const std::string& note) {
      CAPTURE(note);
      Bytes file = start;
      append(file, stamps);
      const auto capture = opened(folder, file);
      CHECK(all_frames(*capture).size() == 200);
      CHECK(any_note_has(capture->info(), note));
      CHECK_FALSE(capture->info().times.known);
    };
    Bytes falling = trailer(200);
    put_ticks(falling, stamp, 638'000'000'000'000'000);
    Bytes old = trailer(200);
    for (std::size_t at = 0; at < old.size(); at += 8) put_ticks(old, at, 1'000'000);
    Bytes equal = old;
    for (std::size_t at = 0; at < old.size(); at += 8)
      put_ticks(equal, at, 638'000'000'000'000'000);
    Bytes long_night = trailer(200);
    put_ticks(long_night, std::size_t{8} * 199, 638'002'000'000'000'000);
    Bytes cut = trailer(200);
    cut.resize(cut.size() - 9);
    check(falling, "they do not rise");
    check(old, "not of this time");
    check(Bytes(1600), "not of this time");
    check(equal, "all the same");
    check(long_night, "more than a day");
    check(cut, "cut off");
  }

  TEST_CASE("without a trailer the count is what is there, and times are not known") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(5, kPixels, kWidth);
    for (const int promised : {5, 0, -1, 9, 2}) {
      CAPTURE(promised);
      Bytes file = with_frames(header(0, 8, promised), pictures);
      append(file, Bytes(100));  // part of a sixth
      const auto capture = opened(folder, file);
      CHECK(all_frames(*capture) == pictures);
      CHECK(capture->info().times.frames_per_s == 0);
    }
  }

  TEST_CASE("the depth of the header is kept, which libav drops") {
    const TemporaryFolder folder;
    const auto file = with_frames(header(0, 14, 3), pictures_16(3, kPixels, kWidth, 10, 0));
    const auto capture = opened(folder, file);
    CHECK(capture->info().bits.used == 14);
    CHECK_FALSE(capture->info().bits.high_aligned);
    CHECK(capture->info().full_scale == 16383);
    CHECK(capture->info().scale.to_light(16383) == doctest::Approx(1));
  }

  TEST_CASE("mosaics and RGB by ColorID (8 RGGB, 9 GRBG, 10 GBRG, 11 BGGR, 100 RGB, 101 BGR)") {
    const TemporaryFolder folder;
    const std::vector<Cfa> mosaics = {Cfa::rggb, Cfa::grbg, Cfa::gbrg, Cfa::bggr};
    for (int colour = 8; colour <= 11; ++colour) {
      CAPTURE(colour);
      const auto pictures = pictures_16(3, kPixels, kWidth, 12, 0);
      const auto capture = opened(folder, with_frames(header(colour, 12, 3), pictures));
      CHECK(capture->info().cfa == mosaics[static_cast<std::size_t>(colour - 8)]);
      CHECK(all_frames(*capture) == pictures);
    }
    for (const int colour : {100, 101}) {
      CAPTURE(colour);
      const auto pictures = pictures_8(2, 3 * kPixels, kWidth);
      const auto capture = opened(folder, with_frames(header(colour, 8, 2), pictures));
      CHECK(capture->info().colour == Colour::rgb);
      const auto frame = capture->next();
      REQUIRE(frame.ok());
      REQUIRE(frame.value().plane_count == 3);
      const auto red = frame.value().planes[0].row<std::uint8_t>(2)[5];
      const std::size_t at = 3 * (2 * std::size_t{kWidth} + 5) + (colour == 100 ? 0 : 2);
      CHECK(red == std::to_integer<std::uint8_t>(pictures[0][at]));
    }
  }

  TEST_CASE("samples are taken in the byte order that makes pictures of them") {
    const TemporaryFolder folder;
    for (const int depth : {12, 16}) {
      const auto native = pictures_16(4, kPixels, kWidth, depth, 0);
      std::vector<Bytes> big;
      big.reserve(native.size());
      for (const Bytes& picture : native) big.push_back(swapped(picture));
      for (const bool flag_little : {true, false}) {
        for (const bool really_little : {true, false}) {
          CAPTURE(depth);
          CAPTURE(flag_little);
          CAPTURE(really_little);
          const auto file =
              with_frames(header(0, depth, 4, flag_little), really_little ? native : big);
          const auto capture = opened(folder, file);
          CHECK(all_frames(*capture) == native);
          CHECK(any_note_has(capture->info(), "endian") == (flag_little != really_little));
        }
      }
    }
  }

  TEST_CASE("where pictures are mere noise, the order is the one that fits the depth") {
    const TemporaryFolder folder;
    std::mt19937 random(5);
    std::vector<std::uint16_t> noise(kPixels);
    for (auto& sample : noise) sample = static_cast<std::uint16_t>(random() % 4096);
    const Bytes native = bytes_of(noise);
    const auto capture = opened(folder, with_frames(header(0, 12, 1), {swapped(native)}));
    CHECK(all_frames(*capture).at(0) == native);
  }

  TEST_CASE("an order that was asked for is obeyed, right or wrong") {
    const TemporaryFolder folder;
    const auto native = pictures_16(2, kPixels, kWidth, 12, 0);
    const auto file = with_frames(header(0, 12, 2), native);
    const auto capture = opened(folder, file, {.byte_order = ByteOrder::big});
    const auto frames = all_frames(*capture);
    REQUIRE(frames.size() == 2);
    CHECK(frames[0] == swapped(native[0]));
  }

  TEST_CASE("frames without light keep the byte order of the header") {
    const TemporaryFolder folder;
    const std::vector<Bytes> black(3, Bytes(2 * kPixels));
    const auto capture = opened(folder, with_frames(header(0, 12, 3, false), black));
    CHECK(capture->info().storage.pixel_format == "gray16be");
    CHECK(capture->info().bits.used == 12);
  }

  TEST_CASE("damaged headers are refused with what is wrong") {
    const TemporaryFolder folder;
    const auto refusal = [&](const Bytes& file) {
      write_file(folder.file("bad.ser"), file);
      return refusal_of(folder.file("bad.ser"));
    };
    Bytes file = with_frames(header(0, 8, 2), pictures_8(2, kPixels, kWidth));
    CHECK(refusal(header(0, 8, 2)).find("no complete frame") != std::string::npos);
    Bytes changed = file;
    changed.resize(kHeader + kPixels - 1);
    CHECK(refusal(changed).find("no complete frame") != std::string::npos);
    changed.resize(100);
    CHECK_FALSE(refusal(changed).empty());
    changed = file;
    put_integer(changed, kWidthAt, 70'000);
    CHECK(refusal(changed).find("70000 x 24") != std::string::npos);
    put_integer(changed, kWidthAt, -5);
    CHECK_FALSE(refusal(changed).empty());
    put_integer(changed, kWidthAt, 65'000);
    put_integer(changed, kHeightAt, 65'000);
    CHECK(refusal(changed).find("65000 x 65000") != std::string::npos);
    changed = file;
    put_integer(changed, kDepth, 40);
    CHECK(refusal(changed).find("40 bits") != std::string::npos);
    changed = file;
    put_integer(changed, kColour, 16);
    CHECK(refusal(changed).find("colour kind 16") != std::string::npos);
  }
}
