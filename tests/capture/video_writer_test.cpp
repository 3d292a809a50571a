#include "capture/video_writer.h"

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "core/error.h"
#include "support/bytes.h"
#include "support/child.h"
#include "support/ffmpeg.h"
#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/video_writer") {
  namespace {

  constexpr int kFrames = 5;
  constexpr Size kSmall = {66, 38};     // not a multiple of libav's alignment, one slice
  constexpr Size kMiddle = {401, 301};  // four slices
  constexpr Size kLarge = {701, 481};   // sixteen

  /// What is recorded, and what should be written of it.
  struct Recording {
    std::string file;
    std::string codec;
    std::string pixel_format;
    int bits;   ///< of the light in a sample
    int shift;  ///< unused bits below them
    std::string written_format;
    Size size = kSmall;
  };

  /// A capture as a camera program would leave it.
  void record(const std::string& path, const TemporaryFolder& folder, const Recording& recording) {
    VideoFormat format{.codec = recording.codec, .pixel_format = recording.pixel_format};
    format.width_px = recording.size.width_px;
    format.height_px = recording.size.height_px;
    const test::VideoWriter probe(folder.file("probe.nut"), format);
    const std::size_t bytes = probe.picture_bytes();
    const int width = recording.size.width_px;
    write_video(path, format,
                recording.bits == 8
                    ? pictures_8(kFrames, bytes, width)
                    : pictures_16(kFrames, bytes / 2, width, recording.bits, recording.shift));
  }

  /// Writes the frames of a capture last first, as a ranking might want them.
  void write_reversed(Capture& capture, const std::string& path, int threads = 0) {
    capture::VideoWriter writer(path, capture.info(), capture.info().times.frames_per_s, threads);
    for (FrameIndex index = kFrames; index-- > 0;) {
      const auto frame = capture.at(index);
      REQUIRE(frame.ok());
      writer.add(frame.value());
    }
    writer.finish();
  }

  /// ffmpeg's GBR planes in the order red, green, blue.
  Bytes red_first(const Bytes& gbr) {
    const auto plane = static_cast<std::ptrdiff_t>(gbr.size() / 3);
    Bytes rgb(gbr.begin() + 2 * plane, gbr.end());
    rgb.insert(rgb.end(), gbr.begin(), gbr.begin() + 2 * plane);
    return rgb;
  }

  /// Message of the OutputError that `work` gives where no file may grow beyond a limit. Such
  /// writes fail with EFBIG (POSIX.1-2017, setrlimit), like those on a full disk with ENOSPC.
  std::string message_with_limit(std::size_t limit_bytes, const std::function<void()>& work) {
    const auto limit_size = [limit_bytes] {
      ::signal(SIGXFSZ, SIG_IGN);
      const rlimit limit = {limit_bytes, limit_bytes};
      ::setrlimit(RLIMIT_FSIZE, &limit);
    };
    return message_in_child(limit_size, work);
  }

  /// A video of one gray picture.
  void write_one(const std::string& path, const CaptureInfo& info, const Bytes& picture) {
    const std::ptrdiff_t sample_bytes = info.sample_type == SampleType::u8 ? 1 : 2;
    Frame frame;
    frame.planes[0] = {picture.data(), info.size.width_px, info.size.height_px,
                       info.size.width_px * sample_bytes, info.sample_type};
    capture::VideoWriter writer(path, info, 25);
    writer.add(frame);
    writer.finish();
  }

  void check_same_meaning(const CaptureInfo& written, const CaptureInfo& source) {
    CHECK(written.size == source.size);
    CHECK((written.colour == Colour::rgb) == (source.colour == Colour::rgb));
    CHECK((written.colour == Colour::yuv) == (source.colour == Colour::yuv));
    CHECK(written.chroma.first_x_px == source.chroma.first_x_px);
    CHECK(written.chroma.first_y_px == source.chroma.first_y_px);
    CHECK(written.chroma.red == source.chroma.red);
    CHECK(written.chroma.scale.per_unit == source.chroma.scale.per_unit);
    CHECK(written.sample_type == source.sample_type);
    CHECK(written.bits.used == source.bits.used);
    CHECK(written.bits.high_aligned == source.bits.high_aligned);
    CHECK(written.full_scale == source.full_scale);
    CHECK(written.scale.black == source.scale.black);
    CHECK(written.scale.per_unit == source.scale.per_unit);
    CHECK(written.times.frames_per_s == doctest::Approx(100));
    CHECK(written.storage.container == "matroska,webm");
    CHECK(written.storage.codec == "ffv1");
    CHECK(written.storage.intra_only);
    for (const std::string& note : written.notes) CHECK_FALSE(contains(note, "checksums"));
  }

  }  // namespace

  // References: the samples that went in, and the ffmpeg program's decode of what came out.
  TEST_CASE("samples come back word for word, with their depth and their scale") {
    const std::vector<Recording> recordings = {
        {"raw.avi", "rawvideo", "gray", 8, 0, "gray"},
        {"raw.nut", "rawvideo", "gray16le", 12, 0, "gray16le"},
        {"raw.nut", "rawvideo", "gray16le", 12, 4, "gray16le"},
        {"raw.nut", "rawvideo", "gray16le", 16, 0, "gray16le", kMiddle},
        {"raw.nut", "rawvideo", "bayer_rggb8", 8, 0, "gray"},
        {"raw.nut", "rawvideo", "bayer_gbrg16le", 12, 0, "gray16le"},
        {"ffv1.mkv", "ffv1", "gray9le", 9, 0, "gray9le"},
        {"ffv1.mkv", "ffv1", "gray10le", 10, 0, "gray10le"},
        {"ffv1.mkv", "ffv1", "gray12le", 12, 0, "gray12le", kLarge},
        {"ffv1.mkv", "ffv1", "yuv420p", 8, 0, "yuv420p"},
        {"ffv1.mkv", "ffv1", "yuv422p10le", 10, 0, "yuv422p10le", kMiddle},
        {"raw.nut", "rawvideo", "uyvy422", 8, 0, "yuv422p"},
        {"raw.nut", "rawvideo", "nv12", 8, 0, "yuv420p"},
        {"motion.avi", "mjpeg", "yuvj420p", 8, 0, "yuv420p"},
        {"raw.avi", "rawvideo", "bgr24", 8, 0, "bgr0", kMiddle},
        {"raw.nut", "rawvideo", "rgb48le", 16, 0, "gbrp16le"},
        {"raw.nut", "rawvideo", "rgb48le", 12, 4, "gbrp16le"},
        {"ffv1.mkv", "ffv1", "gbrp12le", 12, 0, "gbrp12le"},
        {"ffv1.mkv", "ffv1", "gbrp14le", 14, 0, "gbrp14le"},
    };
    for (const Recording& recording : recordings) {
      CAPTURE(recording.file);
      CAPTURE(recording.pixel_format);
      CAPTURE(recording.bits);
      const TemporaryFolder folder;
      const std::string source_path = folder.file(recording.file);
      const std::string path = folder.file(".sorted: 50%.part");
      record(source_path, folder, recording);
      const auto source = Capture::open(source_path);
      write_reversed(*source, path);
      source->rewind();
      std::vector<Bytes> expected = all_frames(*source);
      REQUIRE(expected.size() == kFrames);
      std::reverse(expected.begin(), expected.end());

      const auto written = Capture::open(path);
      CHECK(written->info().storage.pixel_format == recording.written_format);
      check_same_meaning(written->info(), source->info());
      CHECK(all_frames(*written) == expected);

      const bool rgb = source->info().colour == Colour::rgb;
      const std::string planar =
          recording.written_format == "bgr0" ? "gbrp" : recording.written_format;
      auto reference = decoded_by_ffmpeg(path, planar, expected[0].size());
      if (rgb) std::transform(reference.begin(), reference.end(), reference.begin(), red_first);
      CHECK(reference == expected);
    }
  }

  TEST_CASE("the same frames give the same bytes, on any number of threads") {
    for (const char* pixel_format : {"gray", "gray16le"}) {
      CAPTURE(pixel_format);
      const TemporaryFolder folder;
      const int bits = std::string(pixel_format) == "gray" ? 8 : 12;
      record(folder.file("raw.nut"), folder,
             {"raw.nut", "rawvideo", pixel_format, bits, 0, pixel_format, kLarge});
      const auto source = Capture::open(folder.file("raw.nut"));
      write_reversed(*source, folder.file("first"), 1);
      const Bytes first = read_file(folder.file("first"));
      for (const int threads : {1, 2, 3, 8, 0}) {
        CAPTURE(threads);
        write_reversed(*source, folder.file("other"), threads);
        CHECK(read_file(folder.file("other")) == first);
      }
    }
  }

  // RFC 9043, section 4.9.3 (slice_crc_parity): a changed bit shows in the slice's own checksum.
  TEST_CASE("a flipped bit damages its own frame and no other") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray", kLarge});
    const auto source = Capture::open(folder.file("raw.avi"));
    write_reversed(*source, folder.file("sorted.mkv"));
    Bytes bytes = read_file(folder.file("sorted.mkv"));
    bytes[bytes.size() / 2] ^= std::byte{4};  // frame 2 of 0 to 4: they are about equally long
    write_file(folder.file("sorted.mkv"), bytes);
    const std::vector<Bytes> frames = all_frames(*Capture::open(folder.file("sorted.mkv")));
    source->rewind();
    const std::vector<Bytes> recorded = all_frames(*source);
    REQUIRE(frames.size() == kFrames);
    for (std::size_t i = 0; i < kFrames; ++i) {
      CAPTURE(i);
      CHECK(frames[i] == (i == 2 ? Bytes{} : recorded[kFrames - 1 - i]));
    }
  }

  TEST_CASE("the playback speed is kept where Matroska can express it") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray"});
    const auto source = Capture::open(folder.file("raw.avi"));
    const std::vector<std::pair<double, double>> speeds = {
        {29.97, 29.97}, {300, 300}, {999, 999}, {5000, 999},
        {0.1, 1},       {0, 25},    {-3, 25},   {std::numeric_limits<double>::quiet_NaN(), 25},
    };
    for (std::size_t i = 0; i < speeds.size(); ++i) {
      CAPTURE(speeds[i].first);
      {
        capture::VideoWriter writer(folder.file("sorted.mkv"), source->info(), speeds[i].first);
        for (FrameIndex index = 0; index < kFrames; ++index) {
          writer.add(source->at(index).value());
        }
        writer.finish();
      }
      const auto written = Capture::open(folder.file("sorted.mkv"));
      CHECK(written->info().times.frames_per_s == doctest::Approx(speeds[i].second).epsilon(1e-6));
      CHECK(all_frames(*written).size() == kFrames);
    }
  }

  TEST_CASE("a full disk is reported, at any place in the file") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray", kLarge});
    const auto source = Capture::open(folder.file("raw.avi"));
    const std::string path = folder.file("sorted.mkv");
    write_reversed(*source, path);
    const Bytes whole = read_file(path);
    const std::size_t size = whole.size();
    const auto write = [&] { write_reversed(*source, path); };
    const auto add_frames = [&] {  // reported soon (libav gathers 256 KiB), not after hours
      capture::VideoWriter writer(path, source->info(), 100);
      for (FrameIndex index = 0; index < kFrames; ++index) writer.add(source->at(index).value());
    };
    for (const std::size_t limit : {std::size_t{1}, std::size_t{1000}, size / 2, size - 1}) {
      CAPTURE(limit);
      const std::string message = message_with_limit(limit, write);
      CHECK(contains(message, "cannot write the video '" + path));
      CHECK(contains(message, "larger than the disk"));
    }
    CHECK(contains(message_with_limit(size / 2, add_frames), "larger than the disk"));
    CHECK(message_with_limit(size, write).empty());
    CHECK(read_file(path) == whole);
    // The same wording for ENOSPC: files/failure.
  }

  TEST_CASE("nothing half-written is left, and an earlier video stays until another is complete") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray", kLarge});
    const auto source = Capture::open(folder.file("raw.avi"));
    const std::string path = folder.file("sorted.mkv");
    const auto names = folder.names();
    {
      capture::VideoWriter writer(path, source->info(), 100);
      writer.add(source->at(0).value());
      CHECK_FALSE(std::filesystem::exists(path));
    }
    CHECK(folder.names() == names);
    write_reversed(*source, path);
    const Bytes whole = read_file(path);
    {
      capture::VideoWriter writer(path, source->info(), 100);
      writer.add(source->at(0).value());
      CHECK(read_file(path) == whole);
    }
    CHECK(read_file(path) == whole);
    CHECK(folder.names().size() == names.size() + 1);
  }

  TEST_CASE("a colon in a name is part of the name") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray"});
    const auto source = Capture::open(folder.file("raw.avi"));
    const auto write = [&] {
      std::filesystem::current_path(folder.path());
      write_reversed(*source, "pipe:2");
    };
    CHECK(message_with_limit(std::size_t{1} << 30, write).empty());
    CHECK(all_frames(*Capture::open(folder.file("pipe:2"))).size() == kFrames);
  }

  TEST_CASE("places that cannot be written are refused, each with its reason") {
    const TemporaryFolder folder;
    record(folder.file("raw.avi"), folder, {"raw.avi", "rawvideo", "gray", 8, 0, "gray"});
    const auto source = Capture::open(folder.file("raw.avi"));
    const auto refusal = [&](const std::string& path) {
      return message_of<OutputError>(
          [&] { const capture::VideoWriter writer(path, source->info(), 25); });
    };
    CHECK(contains(refusal(folder.file("none/a.mkv")),
                   "there is no folder '" + folder.file("none") + "'"));
    CHECK(contains(refusal(folder.file("raw.avi/a.mkv")), "there is no folder"));
    CHECK(contains(refusal(folder.path()), "there is a folder of that name"));
    CHECK(contains(refusal("/dev/full"), "not an ordinary file"));
  }

  TEST_CASE("words with unused low bits need all 16, whatever their pixel format states") {
    const TemporaryFolder folder;
    const std::vector<std::uint16_t> words = {0, 1U << 6, 512U << 6, 1023U << 6};
    CaptureInfo info;
    info.storage.pixel_format = "p010le";  // 10 bits at the high end (FFmpeg libavutil/pixfmt.h)
    info.full_scale = 1023;                // as wrong as can be
    info.size = {2, 2};
    info.colour = Colour::luma;
    info.sample_type = SampleType::u16;
    write_one(folder.file("a.mkv"), info, bytes_of(words));
    const auto written = Capture::open(folder.file("a.mkv"));
    CHECK(written->info().storage.pixel_format == "gray16le");
    CHECK(all_frames(*written) == std::vector<Bytes>{bytes_of(words)});
  }

  TEST_CASE("samples of another scale than that of their pixel format are written as 16 bits") {
    const TemporaryFolder folder;
    const std::vector<std::uint16_t> words = {0, 4096, 44096, 65535};
    CaptureInfo info;
    info.size = {2, 2};
    info.sample_type = SampleType::u16;
    info.scale = {4096, 1.0 / 40000};  // black as in 16-bit video range, but not white
    info.full_scale = 65535;
    for (const char* pixel_format : {"gray", "gray10le", "yuv422p12le", "gray16le"}) {
      CAPTURE(pixel_format);
      info.storage.pixel_format = pixel_format;
      write_one(folder.file("a.mkv"), info, bytes_of(words));
      const auto written = Capture::open(folder.file("a.mkv"));
      CHECK(written->info().storage.pixel_format == "gray16le");
      CHECK(written->info().scale.black == 0);
      CHECK(all_frames(*written) == std::vector<Bytes>{bytes_of(words)});
    }
  }

  TEST_CASE("the narrowest frames come back whole, narrower ones are refused before any file") {
    const TemporaryFolder folder;
    const std::string path = folder.file("a.mkv");
    CaptureInfo info;
    info.storage.pixel_format = "gray";
    for (const Size size : {Size{2, 2},
                            {2, 288},
                            {352, 2},
                            {353, 4},
                            {4, 289},
                            {20001, 15},
                            {20001, 16},
                            {17, 20001}}) {
      CAPTURE(size.width_px);
      CAPTURE(size.height_px);
      info.size = size;
      const Bytes picture =
          pictures_8(1, static_cast<std::size_t>(size.area_px()), size.width_px)[0];
      write_one(path, info, picture);
      CHECK(all_frames(*Capture::open(path)) == std::vector<Bytes>{picture});
    }
    std::filesystem::remove(path);
    for (const Size size : {Size{1, 1}, {4, 1}, {1, 4}, {353, 3}, {3, 289}, {1000, 1}}) {
      info.size = size;
      const std::string wanted =
          std::to_string(size.width_px) + " x " + std::to_string(size.height_px) + " px";
      CHECK(contains(
          message_of<OutputError>([&] { const capture::VideoWriter writer(path, info, 25); }),
          wanted));
      CHECK_FALSE(std::filesystem::exists(path));
    }
  }

  TEST_CASE("samples beyond the bits of their format are refused, not cut") {
    const TemporaryFolder folder;
    record(folder.file("raw.nut"), folder, {"raw.nut", "rawvideo", "gray10le", 12, 0, "gray10le"});
    const auto source = Capture::open(folder.file("raw.nut"));
    const std::string message =
        message_of<OutputError>([&] { write_reversed(*source, folder.file("a.mkv")); });
    CHECK(contains(message, "frame 4"));
    CHECK(contains(message, "uses 12 bits a sample"));
    CHECK(contains(message, "its pixel format has 10"));
  }
}
