#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <fstream>
#include <random>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/order") {
  namespace {

  constexpr int kFrames = 60;

  struct Recording {
    std::string file;
    VideoFormat format;
  };

  std::vector<Recording> recordings() {
    return {
        {"raw.avi", {}},
        {"raw.mov", {}},
        {"motion.avi", {.codec = "mjpeg", .pixel_format = "yuvj420p"}},
        {"ffv1.avi", {.codec = "ffv1"}},
        // Matroska keeps whole milliseconds: 300 frames a second become 0 3 7 10, and at 3000
        // several frames share a time stamp.
        {"ffv1.mkv", {.codec = "ffv1", .frames_per_s = 300}},
        {"fast.mkv", {.codec = "ffv1", .frames_per_s = 3000}},
        {"groups.mkv", {.codec = "ffv1", .group = 12}},
        {"groups.avi", {.codec = "ffv1", .group = 12}},
        {"png.mkv", {.codec = "png"}},
        {"moon_%04d.png", {.codec = "png", .container = "image2"}},
        {"h264.mp4", {.codec = "libx264", .pixel_format = "yuv420p", .group = 10, .b_frames = 3}},
        {"h264.avi", {.codec = "libx264", .pixel_format = "yuv420p", .group = 10}},
        {"h264.mkv", {.codec = "libx264", .pixel_format = "yuv420p", .group = 25, .b_frames = 2}},
    };
  }

  bool is_lossless_gray(const Recording& recording) {
    return recording.format.pixel_format == "gray";
  }

  std::vector<Bytes> pictures_of(std::size_t bytes) { return pictures_8(kFrames, bytes, 64); }

  std::string record(const TemporaryFolder& folder, const Recording& recording) {
    const VideoWriter probe(folder.file("probe.nut"), [&] {
      VideoFormat raw = recording.format;
      raw.codec = "rawvideo";
      raw.container = "";
      raw.codec_options = {};
      return raw;
    }());
    std::string path = folder.file(recording.file);
    write_video(path, recording.format, pictures_of(probe.picture_bytes()));
    return path;
  }

  }  // namespace

  TEST_CASE("any frame by index is the frame that comes in order, whatever was read before") {
    for (const Recording& recording : recordings()) {
      for (const int threads : {1, 4}) {
        CAPTURE(recording.file);
        CAPTURE(threads);
        const TemporaryFolder folder;
        const std::string path = record(folder, recording);
        const auto in_order = all_frames(*Capture::open(path, {.decoder_threads = threads}));
        REQUIRE(in_order.size() == kFrames);
        if (is_lossless_gray(recording)) CHECK(in_order == pictures_of(in_order[0].size()));
        for (std::size_t i = 1; i < in_order.size(); ++i) REQUIRE(in_order[i] != in_order[i - 1]);

        const auto capture = Capture::open(path, {.decoder_threads = threads});
        std::mt19937 random(20240817);
        for (int step = 0; step < 40; ++step) {
          const auto index = static_cast<FrameIndex>(random() % kFrames);
          CAPTURE(index);
          const auto frame = capture->at(index);
          REQUIRE(frame.ok());
          CHECK(frame.value().index == index);
          CHECK(bytes_in(frame.value()) == in_order[static_cast<std::size_t>(index)]);
          if (index + 1 == kFrames || step % 3 != 0) continue;
          const auto after = capture->next();
          REQUIRE(after.ok());
          CHECK(after.value().index == index + 1);
          CHECK(bytes_in(after.value()) == in_order[static_cast<std::size_t>(index) + 1]);
        }
        // Rising, with gaps, after the whole capture was passed: as a stack reads it.
        capture->rewind();
        CHECK(all_frames(*capture) == in_order);
        CHECK(capture->tally().frames == kFrames);
        for (FrameIndex index = 2; index < kFrames; index += 7) {
          const auto frame = capture->at(index);
          REQUIRE(frame.ok());
          CHECK(bytes_in(frame.value()) == in_order[static_cast<std::size_t>(index)]);
        }
      }
    }
  }

  TEST_CASE("indices past either end are distinguished from damaged frames") {
    for (const Recording& recording : recordings()) {
      CAPTURE(recording.file);
      const TemporaryFolder folder;
      const auto capture = Capture::open(record(folder, recording));
      for (const FrameIndex index : {FrameIndex{-1}, FrameIndex{kFrames}, FrameIndex{100'000}}) {
        const auto frame = capture->at(index);
        REQUIRE_FALSE(frame.ok());
        CHECK(frame.reason() == Reject::past_the_end);
      }
      CHECK(capture->at(kFrames - 1).ok());
      CHECK_FALSE(capture->next().ok());
      CHECK(capture->at(0).ok());
    }
  }

  TEST_CASE("a frame outlives its capture") {
    const TemporaryFolder folder;
    const std::string path = record(folder, {"raw.avi", {}});
    auto capture = Capture::open(path);
    const Bytes expected = bytes_in(capture->at(7).value());
    const auto kept = capture->at(7);
    REQUIRE(kept.ok());
    CHECK(capture->next().ok());
    capture.reset();
    CHECK(bytes_in(kept.value()) == expected);
  }

  TEST_CASE("times come from the container where it has them") {
    const TemporaryFolder folder;
    const auto time_of = [&](const Recording& recording, FrameIndex index) {
      const auto capture = Capture::open(record(folder, recording));
      const auto frame = capture->at(index);
      REQUIRE(frame.ok());
      return frame.value().time_s;
    };
    CHECK(time_of({"raw.avi", {.frames_per_s = 50}}, 10) == doctest::Approx(0.2));
    CHECK(time_of({"ffv1.mkv", {.codec = "ffv1", .frames_per_s = 300}}, 10) ==
          doctest::Approx(0.033));  // 10/300 s in whole milliseconds
    CHECK(time_of({"h264.mp4",
                   {.codec = "libx264", .pixel_format = "yuv420p", .group = 10, .b_frames = 3}},
                  10) == doctest::Approx(0.1));
  }

  TEST_CASE("the recording with key frames only is known from the one without") {
    const TemporaryFolder folder;
    const auto intra_only = [&](const Recording& recording) {
      return Capture::open(record(folder, recording))->info().storage.intra_only;
    };
    CHECK(intra_only({"ones.mkv", {.codec = "ffv1", .group = 1}}));
    CHECK_FALSE(intra_only({"groups.mkv", {.codec = "ffv1", .group = 12}}));
  }

  // Halves of the frames that were predicted from the same picture are not independent, which the
  // Fourier ring correlation rests on (Rosenthal & Henderson 2003; from memory).
  TEST_CASE("frames that a lossy coder predicted from others are reported, others are not") {
    const TemporaryFolder folder;
    const auto is_reported = [&](const Recording& recording) {
      const auto capture = Capture::open(record(folder, recording));
      const auto& notes = capture->info().notes;
      return std::any_of(notes.begin(), notes.end(), [](const std::string& note) {
        return note.find("predicted from one another") != std::string::npos;
      });
    };
    CHECK(is_reported({"h264.mp4", {.codec = "libx264", .pixel_format = "yuv420p", .group = 10}}));
    CHECK(is_reported({"mpeg4.avi", {.codec = "mpeg4", .pixel_format = "yuv420p", .group = 10}}));
    CHECK_FALSE(
        is_reported({"ones.mp4", {.codec = "libx264", .pixel_format = "yuv420p", .group = 1}}));
    CHECK_FALSE(is_reported({"motion.avi", {.codec = "mjpeg", .pixel_format = "yuvj420p"}}));
    CHECK_FALSE(is_reported({"groups.mkv", {.codec = "ffv1", .group = 12}}));  // to the bit
    CHECK_FALSE(is_reported({"raw.avi", {}}));
  }

  // What the kernel counts as read by this process: proc(5), /proc/PID/io.
  TEST_CASE("a late frame of raw video is reached without those before it") {
    const auto bytes_read = [] {
      std::ifstream file("/proc/self/io");
      std::string name;
      std::int64_t bytes = 0;
      file >> name >> bytes;
      return bytes;
    };
    constexpr int kMany = 400;
    const TemporaryFolder folder;
    const std::string avi = folder.file("raw.avi");
    const std::vector<Bytes> pictures = pictures_8(kMany, std::size_t{160} * 120, 160);
    write_video(avi, {.width_px = 160, .height_px = 120}, pictures);
    const std::string ser = folder.file("raw.ser");
    Bytes file = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    file.resize(178);
    put_integer(file, 26, 160);
    put_integer(file, 30, 120);
    put_integer(file, 38, kMany);
    for (const Bytes& picture : pictures) file.insert(file.end(), picture.begin(), picture.end());
    write_file(ser, file);
    for (const std::string& path : {avi, ser}) {
      CAPTURE(path);
      const auto capture = Capture::open(path);
      const std::int64_t before = bytes_read();
      for (const FrameIndex index : {kMany - 2, 130, 7, kMany - 1}) {
        CAPTURE(index);
        const auto frame = capture->at(index);
        REQUIRE(frame.ok());
        CHECK(bytes_in(frame.value()) == pictures[static_cast<std::size_t>(index)]);
      }
      CHECK(bytes_read() - before < 20 * 160 * 120);
    }
  }

  TEST_CASE("samples may be changed where neither a decoder nor a copy holds them") {
    const TemporaryFolder folder;
    const auto own = [&](const Recording& recording) {
      const auto capture = Capture::open(record(folder, recording));
      Frame frame = capture->next().value();
      const Frame later = capture->next().value();
      const bool alone = frame.is_own();
      if (alone) {
        const Frame copy = frame;
        CHECK_FALSE(frame.is_own());
      }
      return alone;
    };
    CHECK(own({"raw.avi", {}}));
    CHECK(own({"raw.mov", {}}));
    CHECK_FALSE(own({"h264.mkv", {.codec = "libx264", .pixel_format = "yuv420p", .group = 25}}));
  }

  TEST_CASE("frames of an AVI whose index lies are those that come in order") {
    constexpr int kMany = 40;
    const TemporaryFolder folder;
    const std::string path = folder.file("raw.avi");
    const std::vector<Bytes> pictures = pictures_8(kMany, std::size_t{160} * 120, 160);
    write_video(path, {.width_px = 160, .height_px = 120}, pictures);
    const Bytes whole = read_file(path);
    const std::string text(reinterpret_cast<const char*>(whole.data()), whole.size());
    const auto index = text.rfind("idx1");  // then 4 bytes of length, and 16 an entry
    REQUIRE(index != std::string::npos);
    const auto entry = [&](std::size_t n) { return index + 8 + 16 * n; };
    Bytes exchanged = whole;
    std::swap_ranges(exchanged.begin() + static_cast<std::ptrdiff_t>(entry(20)),
                     exchanged.begin() + static_cast<std::ptrdiff_t>(entry(21)),
                     exchanged.begin() + static_cast<std::ptrdiff_t>(entry(25)));
    Bytes left_out = whole;
    left_out.erase(left_out.begin() + static_cast<std::ptrdiff_t>(entry(10)),
                   left_out.begin() + static_cast<std::ptrdiff_t>(entry(12)));
    put_integer(left_out, index + 4, 16 * (kMany - 2));
    Bytes ends_early = whole;
    ends_early.erase(ends_early.begin() + static_cast<std::ptrdiff_t>(entry(kMany - 3)),
                     ends_early.begin() + static_cast<std::ptrdiff_t>(entry(kMany)));
    put_integer(ends_early, index + 4, 16 * (kMany - 3));
    Bytes cut(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(index));
    for (const Bytes& spoilt : {exchanged, left_out, ends_early, cut}) {
      write_file(path, spoilt);
      const auto in_order = Capture::open(path);
      const auto frames = all_frames(*in_order);
      CHECK(frames.size() == kMany);
      const auto capture = Capture::open(path);
      for (const FrameIndex at : {30, 25, 20, 11, 39}) {
        CAPTURE(at);
        const auto frame = capture->at(at);
        REQUIRE(frame.ok());
        CHECK(bytes_in(frame.value()) == frames.at(static_cast<std::size_t>(at)));
      }
    }
  }
}
