// Covers: capture/pixel_layout, capture/chroma_layout
#include <doctest/doctest.h>

#include <cstdlib>
#include <cstring>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "capture/libav.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/every_format") {
  namespace {

  constexpr int kWidth = 36;
  constexpr int kHeight = 20;

  /// A picture in libav's own memory.
  struct Picture {
    std::uint8_t* data[4] = {};
    int linesize[4] = {};

    explicit Picture(AVPixelFormat format) {
      const int bytes = av_image_alloc(data, linesize, kWidth, kHeight, format, 1);
      REQUIRE(bytes > 0);
      std::memset(data[0], 0,
                  static_cast<std::size_t>(bytes));  // libavutil adds bits to what is there
    }

    ~Picture() { av_freep(static_cast<void*>(data)); }

    Picture(const Picture&) = delete;
    Picture& operator=(const Picture&) = delete;
  };

  Size plane_size(const AVPixFmtDescriptor& format, int component) {
    if (component != 1 && component != 2) return {kWidth, kHeight};
    if ((format.flags & AV_PIX_FMT_FLAG_RGB) != 0) return {kWidth, kHeight};
    return {AV_CEIL_RSHIFT(kWidth, format.log2_chroma_w),
            AV_CEIL_RSHIFT(kHeight, format.log2_chroma_h)};
  }

  /// Seeded noise within the depth of every component, as bytes; libavutil puts them in place.
  Bytes noise(AVPixelFormat format) {
    const AVPixFmtDescriptor& description = *av_pix_fmt_desc_get(format);
    Picture picture(format);
    std::mt19937 random(1234);
    for (int c = 0; c < description.nb_components; ++c) {
      const Size size = plane_size(description, c);
      std::vector<std::uint16_t> row(static_cast<std::size_t>(size.width_px));
      for (int y = 0; y < size.height_px; ++y) {
        for (auto& value : row)
          value = static_cast<std::uint16_t>(random() % (1U << description.comp[c].depth));
        av_write_image_line2(row.data(), picture.data, picture.linesize, &description, 0, y, c,
                             size.width_px, 2);
      }
    }
    const int bytes = av_image_get_buffer_size(format, kWidth, kHeight, 1);
    Bytes packed(static_cast<std::size_t>(bytes));
    REQUIRE(av_image_copy_to_buffer(reinterpret_cast<std::uint8_t*>(packed.data()), bytes,
                                    picture.data, picture.linesize, format, kWidth, kHeight,
                                    1) == bytes);
    return packed;
  }

  /// Values of one component of a picture that ffmpeg decoded, read by libavutil.
  std::vector<int> component_of(const Bytes& packed, AVPixelFormat format, int component) {
    const AVPixFmtDescriptor& description = *av_pix_fmt_desc_get(format);
    std::uint8_t* data[4] = {};
    int linesize[4] = {};
    Bytes copy = packed;
    av_image_fill_arrays(data, linesize, reinterpret_cast<std::uint8_t*>(copy.data()), format,
                         kWidth, kHeight, 1);
    const Size size = plane_size(description, component);
    std::vector<int> values;
    std::vector<std::uint16_t> row(static_cast<std::size_t>(size.width_px));
    for (int y = 0; y < size.height_px; ++y) {
      const std::uint8_t* planes[4] = {data[0], data[1], data[2], data[3]};
      av_read_image_line2(row.data(), planes, linesize, &description, 0, y, component,
                          size.width_px, 0, 2);
      values.insert(values.end(), row.begin(), row.end());
    }
    return values;
  }

  std::vector<int> values_of(const SampleView& plane, int shift) {
    std::vector<int> values;
    for (int y = 0; y < plane.height_px; ++y) {
      for (int x = 0; x < plane.width_px; ++x) {
        const int value = plane.type == SampleType::u8 ? plane.row<std::uint8_t>(y)[x]
                                                       : plane.row<std::uint16_t>(y)[x];
        values.push_back(value >> shift);
      }
    }
    return values;
  }

  }  // namespace

  // Reference: the ffmpeg program decodes, libavutil (av_read_image_line2) takes components apart.
  TEST_CASE("every pixel format that can be read gives the samples that ffmpeg gives") {
    const TemporaryFolder folder;
    std::vector<std::string> names;
    std::string left_out;
    std::vector<std::string> words = {"ffmpeg", "-v", "error", "-nostdin"};
    std::vector<std::string> outputs;
    for (const std::string& name : readable_pixel_formats()) {
      const AVPixelFormat format = av_get_pix_fmt(name.c_str());
      // Palettes and mosaics have tests of their own: picture_test, formats_test.
      if (name == "pal8" || name.starts_with("bayer")) continue;
      try {
        VideoFormat video{.pixel_format = name, .width_px = kWidth, .height_px = kHeight};
        const Bytes picture = noise(format);
        write_video(folder.file(name + ".nut"), video, {picture, picture});
        if (Capture::open(folder.file(name + ".nut"))->info().storage.pixel_format != name)
          throw std::runtime_error("the container has another name for it");
      } catch (const std::runtime_error&) {
        left_out += " " + name;
        continue;
      }
      words.insert(words.end(), {"-i", folder.file(name + ".nut")});
      outputs.insert(outputs.end(), {"-map", std::to_string(names.size()), "-frames:v", "1", "-f",
                                     "rawvideo", "-pix_fmt", name, folder.file(name + ".raw")});
      names.push_back(name);
    }
    MESSAGE(names.size() << " formats; NUT cannot hold:" << left_out);
    CHECK(names.size() > 100);
    words.insert(words.end(), outputs.begin(), outputs.end());
    const Run run = run_program(words);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    for (const std::string& name : names) {
      CAPTURE(name);
      const AVPixelFormat format = av_get_pix_fmt(name.c_str());
      const Bytes decoded = read_file(folder.file(name + ".raw"));
      const auto capture = Capture::open(folder.file(name + ".nut"));
      const auto outcome = capture->next();
      REQUIRE(outcome.ok());
      const Frame& frame = outcome.value();
      const int shift = av_pix_fmt_desc_get(format)->comp[0].shift;
      for (int c = 0; c < frame.plane_count; ++c) {
        CHECK(values_of(frame.planes[static_cast<std::size_t>(c)], shift) ==
              component_of(decoded, format, c));
      }
      if (capture->info().colour != Colour::yuv) continue;
      for (int c = 0; c < 2; ++c) {
        CHECK(values_of(frame.chroma[static_cast<std::size_t>(c)], shift) ==
              component_of(decoded, format, c + 1));
      }
    }
  }
}
