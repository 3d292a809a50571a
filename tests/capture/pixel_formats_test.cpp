#include <doctest/doctest.h>

#include <algorithm>
#include <optional>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "capture/capture_support.h"
#include "capture/libav.h"
#include "support/video.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

namespace {

constexpr int kWidth =
    68;  // not a multiple of libav's alignment, whole blocks of every kind of YUV
constexpr int kHeight = 40;
constexpr int kFrames = 2;
constexpr std::size_t kPixels = std::size_t{kWidth} * kHeight;

/// Pictures of even noise: every bit of every sample that the format has is used.
std::vector<Bytes> noise(std::size_t bytes, const AVPixFmtDescriptor& format) {
  const int depth = format.comp[0].depth;
  const int shift = format.comp[0].shift;
  const bool bayer = (format.flags & AV_PIX_FMT_FLAG_BAYER) != 0;
  const bool words = !bayer && depth > 8;
  const auto mask = static_cast<std::uint16_t>(((1U << depth) - 1U) << shift);
  std::mt19937 random(20240817);
  std::vector<Bytes> pictures;
  for (int i = 0; i < kFrames; ++i) {
    Bytes& picture = pictures.emplace_back(bytes);
    for (std::byte& byte : picture) byte = static_cast<std::byte>(random() & 255U);
    if (!words) continue;
    const bool big_endian = (format.flags & AV_PIX_FMT_FLAG_BE) != 0;
    for (std::size_t at = 0; at + 1 < bytes; at += 2) {
      picture[at + (big_endian ? 1 : 0)] &= static_cast<std::byte>(mask & 255U);
      picture[at + (big_endian ? 0 : 1)] &= static_cast<std::byte>(mask >> 8);
    }
  }
  return pictures;
}

/// Writes raw frames where libav has a tag for them, or without one. @return the path, empty if
/// neither container takes them.
std::string written(const TempFolder& folder, const std::string& name,
                    const AVPixFmtDescriptor& format) {
  VideoFormat video{.pixel_format = name};
  video.width_px = kWidth;
  video.height_px = kHeight;
  const auto bytes = static_cast<std::size_t>(
      av_image_get_buffer_size(av_get_pix_fmt(name.c_str()), kWidth, kHeight, 1));
  for (const std::string ending : {".nut", ".avi"}) {
    const std::string path = folder.file(name + ending);
    try {
      write_video(path, video, noise(bytes, format));
      return path;
    } catch (const std::runtime_error&) {
      continue;
    }
  }
  return {};
}

/// The planar format of the same depth in which ffmpeg gives what Lull gives.
std::string reference_of(const CaptureInfo& info, const AVPixFmtDescriptor& format) {
  const int depth = format.comp[0].depth;
  const std::string suffix = depth > 8 ? std::to_string(depth) + "le" : "";
  switch (info.colour) {
    case Colour::rgb:
      return "gbrp" + suffix;
    case Colour::yuv: {
      const int columns = info.chroma.columns;
      const std::string kind = columns == 1   ? (info.chroma.rows == 1 ? "444p" : "440p")
                               : columns == 2 ? (info.chroma.rows == 1 ? "422p" : "420p")
                                              : (info.chroma.rows == 1 ? "411p" : "410p");
      return "yuv" + kind + suffix;  // NUT does not tell the range: nothing is stretched
    }
    case Colour::mono:
    case Colour::luma:
      return "gray" + suffix;
    case Colour::cfa:
      break;
  }
  return {};
}

/// Planes in the order red, green, blue, of ffmpeg's green, blue, red.
Bytes red_first(const Bytes& gbr) {
  const auto plane = static_cast<std::ptrdiff_t>(gbr.size() / 3);
  Bytes rgb(gbr.begin() + 2 * plane, gbr.end());
  rgb.insert(rgb.end(), gbr.begin(), gbr.begin() + 2 * plane);
  return rgb;
}

/// Words that stand at the high end, brought down, as ffmpeg's planar formats have them.
Bytes brought_down(Bytes words, int shift) {
  if (shift == 0) return words;
  for (std::size_t at = 0; at + 1 < words.size(); at += 2) {
    const unsigned word =
        (static_cast<unsigned>(words[at]) | (static_cast<unsigned>(words[at + 1]) << 8U)) >>
        static_cast<unsigned>(shift);
    words[at] = static_cast<std::byte>(word & 255U);
    words[at + 1] = static_cast<std::byte>(word >> 8U);
  }
  return words;
}

}  // namespace

TEST_SUITE("capture/pixel_formats") {
  TEST_CASE("every readable pixel format gives the samples that ffmpeg gives") {
    int compared = 0;
    for (const std::string& name : readable_pixel_formats()) {
      CAPTURE(name);
      const AVPixelFormat id = av_get_pix_fmt(name.c_str());
      REQUIRE(id != AV_PIX_FMT_NONE);
      const AVPixFmtDescriptor& format = *av_pix_fmt_desc_get(id);
      const bool bayer = (format.flags & AV_PIX_FMT_FLAG_BAYER) != 0;
      if (bayer || id == AV_PIX_FMT_PAL8)
        continue;  // samples as written, palettes: tests of their own
      const TempFolder folder;
      const std::string path = written(folder, name, format);
      if (path.empty()) {
        MESSAGE("no container for " << name);
        continue;
      }
      const auto capture = Capture::open(path, {.pixel_format = name});
      const CaptureInfo& info = capture->info();
      CHECK(info.pixel_format == name);
      const auto frames = all_frames(*capture);
      REQUIRE(frames.size() == kFrames);
      const std::string as = reference_of(info, format);
      CAPTURE(as);
      const AVPixelFormat reference = av_get_pix_fmt(as.c_str());
      REQUIRE(reference != AV_PIX_FMT_NONE);
      const auto bytes =
          static_cast<std::size_t>(av_image_get_buffer_size(reference, kWidth, kHeight, 1));
      const auto decoded = decoded_by_ffmpeg(path, as, bytes);
      if (!decoded) return;
      REQUIRE(decoded->size() == kFrames);
      for (std::size_t i = 0; i < kFrames; ++i) {
        const Bytes& theirs = (*decoded)[i];
        const Bytes ours = brought_down(frames[i], format.comp[0].shift);
        CHECK(ours == (info.colour == Colour::rgb ? red_first(theirs) : theirs));
      }
      ++compared;
    }
    MESSAGE(compared << " formats compared");
    CHECK(compared > 80);
  }

  TEST_CASE("a format that libav describes wrongly is refused (luma at 1, 2, 4, 5 of six bytes)") {
    const auto names = readable_pixel_formats();
    CHECK(std::find(names.begin(), names.end(), "uyyvyy411") == names.end());
    CHECK(std::find(names.begin(), names.end(), "yuv411p") != names.end());
  }
}
