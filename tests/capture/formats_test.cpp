// Covers: capture/capture, capture/capture_info, capture/container, capture/container_source
#include <doctest/doctest.h>

#include <algorithm>
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

TEST_SUITE("capture/formats") {
  namespace {

  struct Expectation {
    std::string file;
    std::string codec;
    std::string pixel_format;  ///< written
    Colour colour;
    int true_bits;
    bool intra_only;
  };

  constexpr int kWidth = 66;  // not a multiple of libav's alignment
  constexpr int kHeight = 38;
  constexpr std::size_t kPixels = std::size_t{kWidth} * kHeight;
  constexpr int kFrames = 5;

  /// Pictures of the format's size: words where samples have more than 8 bits.
  std::vector<Bytes> pictures_for(const VideoFormat& format, const TemporaryFolder& folder,
                                  int bits) {
    const VideoWriter probe(folder.file("probe.nut"), format);
    const std::size_t bytes = probe.picture_bytes();
    if (bits == 8) return pictures_8(kFrames, bytes, kWidth);
    auto pictures = pictures_16(kFrames, bytes / 2, kWidth, bits, 0);
    if (format.pixel_format.ends_with("be")) {
      for (Bytes& picture : pictures) {
        for (std::size_t i = 0; i + 1 < picture.size(); i += 2)
          std::swap(picture[i], picture[i + 1]);
      }
    }
    return pictures;
  }

  /// Format in which ffmpeg gives what Lull gives: planes of native 8- or 16-bit words.
  std::string reference_format(const CaptureInfo& info) {
    const std::string depth = info.bits.stored == 8 ? "" : std::to_string(info.bits.used) + "le";
    if (info.colour == Colour::rgb) return "gbrp" + depth;
    return info.storage.pixel_format;
  }

  /// ffmpeg's GBR planes in the order red, green, blue.
  Bytes red_first(const Bytes& gbr) {
    const auto plane = static_cast<std::ptrdiff_t>(gbr.size() / 3);
    Bytes rgb(gbr.begin() + 2 * plane, gbr.end());
    rgb.insert(rgb.end(), gbr.begin(), gbr.begin() + 2 * plane);
    return rgb;
  }

  }  // namespace

  // Reference: the ffmpeg program's own decode of the same file. Planar formats are compared byte
  // by byte (planar YUV is luma, blue and red difference: FFmpeg libavutil/pixfmt.h).
  TEST_CASE("containers, codecs and pixel formats give the bytes that ffmpeg gives") {
    const std::vector<Expectation> expectations = {
        {"raw.avi", "rawvideo", "gray", Colour::mono, 8, true},
        {"raw.avi", "rawvideo", "bgr24", Colour::rgb, 8, true},
        {"raw.mov", "rawvideo", "rgb24", Colour::rgb, 8, true},
        {"raw.mov", "rawvideo", "gray16be", Colour::mono, 12, true},
        {"raw.nut", "rawvideo", "gray16le", Colour::mono, 12, true},
        {"raw.nut", "rawvideo", "rgb48le", Colour::rgb, 16, true},
        {"raw.nut", "rawvideo", "rgb48be", Colour::rgb, 16, true},
        {"raw.nut", "rawvideo", "rgba", Colour::rgb, 8, true},
        {"raw.nut", "rawvideo", "bgr0", Colour::rgb, 8, true},
        {"raw.nut", "rawvideo", "yuv444p10le", Colour::yuv, 10, true},
        {"ffv1.mkv", "ffv1", "gray", Colour::mono, 8, true},
        {"ffv1.mkv", "ffv1", "gray10le", Colour::mono, 10, true},
        {"ffv1.mkv", "ffv1", "gray12le", Colour::mono, 12, true},
        {"ffv1.mkv", "ffv1", "gray16le", Colour::mono, 16, true},
        {"ffv1.mkv", "ffv1", "gbrp12le", Colour::rgb, 12, true},
        {"ffv1.mkv", "ffv1", "yuv420p", Colour::yuv, 8, true},
        {"ffv1.mkv", "ffv1", "yuv422p12le", Colour::yuv, 12, true},
        {"ffv1.avi", "ffv1", "gray", Colour::mono, 8, true},
        {"huff.avi", "huffyuv", "rgb24", Colour::rgb, 8, true},
        {"motion.avi", "mjpeg", "yuvj420p", Colour::yuv, 8, true},
        {"motion.mov", "mjpeg", "yuvj444p", Colour::yuv, 8, true},
        {"png.mkv", "png", "gray16be", Colour::mono, 16, true},
        {"h264.mp4", "libx264", "yuv420p", Colour::yuv, 8, false},
        {"h264.mov", "libx264", "yuv422p10le", Colour::yuv, 10, false},
        {"h264.mkv", "libx264", "gray", Colour::luma, 8, false},  // libav reads it as yuv420p
        {"mpeg4.avi", "mpeg4", "yuv420p", Colour::yuv, 8, false},
    };
    for (const Expectation& expected : expectations) {
      CAPTURE(expected.file);
      CAPTURE(expected.codec);
      CAPTURE(expected.pixel_format);
      const TemporaryFolder folder;
      const std::string path = folder.file(expected.file);
      VideoFormat format{.codec = expected.codec, .pixel_format = expected.pixel_format};
      format.width_px = kWidth;
      format.height_px = kHeight;
      format.group = expected.intra_only ? 1 : 12;
      const bool wide = expected.true_bits > 8;
      write_video(path, format, pictures_for(format, folder, wide ? expected.true_bits : 8));

      const auto capture = Capture::open(path);
      const CaptureInfo& info = capture->info();
      CHECK(info.size == Size{kWidth, kHeight});
      CHECK(info.colour == expected.colour);
      CHECK(info.bits.used == expected.true_bits);
      CHECK(info.bits.stored == (wide ? 16 : 8));
      CHECK_FALSE(info.bits.high_aligned);
      CHECK(info.storage.intra_only == expected.intra_only);
      CHECK(info.times.frames_per_s == doctest::Approx(100));
      const std::vector<Bytes> frames = all_frames(*capture);
      CHECK(frames.size() == kFrames);
      CHECK(capture->tally().damaged == 0);

      std::string as = reference_format(info);
      if (as.ends_with("be")) as.replace(as.size() - 2, 2, "le");
      VideoFormat reference = format;
      reference.codec = "rawvideo";
      reference.pixel_format = as;
      const VideoWriter probe(folder.file("probe.nut"), reference);
      const auto decoded = decoded_by_ffmpeg(path, as, probe.picture_bytes());
      REQUIRE(decoded.size() == frames.size());
      const bool gray = info.colour == Colour::mono || info.colour == Colour::luma;
      for (std::size_t i = 0; i < frames.size(); ++i) {
        Bytes theirs = decoded[i];
        if (info.colour == Colour::rgb) theirs = red_first(theirs);
        if (gray) theirs.resize(kPixels * (wide ? 2U : 1U));
        CHECK(frames[i] == theirs);
      }
    }
  }

  TEST_CASE("packed YUV gives every sample (libavutil/pixfmt.h: YUYV is Y0 Cb Y1 Cr)") {
    for (const std::string pixel_format : {"yuyv422", "uyvy422"}) {
      CAPTURE(pixel_format);
      const TemporaryFolder folder;
      const std::string path = folder.file("packed.nut");
      VideoFormat format{.pixel_format = pixel_format};
      format.width_px = kWidth;
      format.height_px = kHeight;
      const auto pictures = pictures_8(2, 2 * kPixels, kWidth);
      write_video(path, format, pictures);
      const auto capture = Capture::open(path);
      CHECK(capture->info().colour == Colour::yuv);
      CHECK(capture->info().chroma.columns == 2);
      CHECK(capture->info().chroma.rows == 1);
      const auto frames = all_frames(*capture);
      REQUIRE(frames.size() == 2);
      const std::size_t luma_at = pixel_format == "yuyv422" ? 0 : 1;
      const std::size_t chroma_at = 1 - luma_at;
      Bytes planes;
      for (const auto& [first, step] :
           {std::pair{luma_at, 2}, std::pair{chroma_at, 4}, std::pair{chroma_at + 2, 4}}) {
        for (std::size_t i = first; i < pictures[1].size(); i += static_cast<std::size_t>(step))
          planes.push_back(pictures[1][i]);
      }
      CHECK(frames[1] == planes);
    }
  }

  TEST_CASE("mosaics in every order, depth and byte order give their samples as written") {
    struct Kind {
      std::string name;
      Cfa cfa;
    };

    for (const Kind& kind : {Kind{"rggb", Cfa::rggb}, Kind{"bggr", Cfa::bggr},
                             Kind{"gbrg", Cfa::gbrg}, Kind{"grbg", Cfa::grbg}}) {
      for (const std::string depth : {"8", "16le", "16be"}) {
        CAPTURE(kind.name);
        CAPTURE(depth);
        const TemporaryFolder folder;
        VideoFormat format{.pixel_format = "bayer_" + kind.name + depth};
        format.width_px = kWidth;
        format.height_px = kHeight;
        const auto native =
            depth == "8" ? pictures_8(3, kPixels, kWidth) : pictures_16(3, kPixels, kWidth, 14, 0);
        auto written = native;
        if (depth == "16be") {
          for (Bytes& picture : written) {
            for (std::size_t i = 0; i < picture.size(); i += 2)
              std::swap(picture[i], picture[i + 1]);
          }
        }
        write_video(folder.file("mosaic.nut"), format, written);
        const auto capture = Capture::open(folder.file("mosaic.nut"));
        CHECK(capture->info().colour == Colour::cfa);
        CHECK(capture->info().cfa == kind.cfa);
        CHECK(capture->info().bits.used == (depth == "8" ? 8 : 14));
        CHECK(all_frames(*capture) == native);
      }
    }
  }

  TEST_CASE(
      "video range: black and white are 16 and 235, times 2^(bits-8) (ITU-R BT.709-6, BT.601-7)") {
    const TemporaryFolder folder;
    const auto open_as = [&](const std::string& pixel_format, bool full_range, int bits) {
      VideoFormat format{.codec = "ffv1", .pixel_format = pixel_format};
      format.full_range = full_range;
      const std::size_t samples = std::size_t{64} * 48 * 3;
      write_video(folder.file("range.mkv"), format,
                  bits == 8 ? pictures_8(2, samples, 64) : pictures_16(2, samples, 64, bits, 0));
      return Capture::open(folder.file("range.mkv"));
    };
    const auto limited = open_as("yuv444p", false, 8);
    CHECK(limited->info().scale.to_light(16) == doctest::Approx(0));
    CHECK(limited->info().scale.to_light(235) == doctest::Approx(1));
    CHECK(limited->info().full_scale == 235);
    const auto deep = open_as("yuv444p10le", false, 10);
    CHECK(deep->info().scale.to_light(64) == doctest::Approx(0));
    CHECK(deep->info().scale.to_light(940) == doctest::Approx(1));
    const auto full = open_as("yuv444p", true, 8);
    CHECK(full->info().scale.to_light(0) == doctest::Approx(0));
    CHECK(full->info().scale.to_light(255) == doctest::Approx(1));
    CHECK(full->info().full_scale == 255);
  }

  TEST_CASE("a YUV capture without colour is luma; one whose first frames have none is not lost") {
    const TemporaryFolder folder;
    Bytes gray(std::size_t{64} * 48 * 3, std::byte{128});
    for (std::size_t i = 0; i < std::size_t{64} * 48; ++i)
      gray[i] = static_cast<std::byte>(i % 251);
    Bytes coloured = gray;
    coloured.back() = std::byte{129};
    write_video(folder.file("gray.mkv"), {.codec = "ffv1", .pixel_format = "yuv444p"},
                {gray, gray});
    write_video(folder.file("colour.mkv"), {.codec = "ffv1", .pixel_format = "yuv444p"},
                {gray, gray, coloured});
    CHECK(Capture::open(folder.file("gray.mkv"))->info().colour == Colour::luma);
    CHECK(Capture::open(folder.file("colour.mkv"))->info().colour == Colour::yuv);
  }

  TEST_CASE("16-bit gray in AVI, which reads back as rgb555le, is refused by name") {
    const TemporaryFolder folder;
    write_video(folder.file("deep.avi"), {.pixel_format = "gray16le"},
                pictures_16(2, std::size_t{64} * 48, 64, 12, 0));
    CHECK(refusal_of(folder.file("deep.avi")).find("rgb555le") != std::string::npos);
  }
}
