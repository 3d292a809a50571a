#include "capture/rotation.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/ffmpeg.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/rotation") {
  // Reference: the ffmpeg program, which turns pictures upright by default.
  TEST_CASE("pictures with rotation metadata come upright, as from ffmpeg") {
    for (const int degrees : {90, 180, 270}) {
      for (const std::string pixel_format : {"gray", "gray16be", "rgb24"}) {
        CAPTURE(degrees);
        CAPTURE(pixel_format);
        const TemporaryFolder folder;
        const std::string path = folder.file("turned.mov");
        VideoFormat format{.pixel_format = pixel_format};
        // Raw 8-bit gray in MOV has a palette, which ffmpeg would take through YUV.
        if (pixel_format == "gray") format.codec = "png";
        format.width_px = 50;
        format.height_px = 34;
        format.rotation_deg = degrees;
        const std::size_t bytes = std::size_t{50} * 34 * (pixel_format == "gray" ? 1 : 3);
        const bool wide = pixel_format == "gray16be";
        const auto pictures =
            wide ? pictures_16(2, std::size_t{50} * 34, 50, 16, 0) : pictures_8(2, bytes, 50);
        write_video(path, format, pictures);
        const auto capture = Capture::open(path);
        CHECK(capture->info().rotation_deg == degrees);
        CHECK(capture->info().size == (degrees == 180 ? Size{50, 34} : Size{34, 50}));
        const auto frames = all_frames(*capture);
        REQUIRE(frames.size() == 2);
        const std::string as = pixel_format == "rgb24" ? "gbrp" : (wide ? "gray16le" : "gray");
        const auto reference = decoded_by_ffmpeg(path, as, frames[0].size());
        REQUIRE(reference.size() == 2);
        if (pixel_format != "rgb24") {
          CHECK(frames == reference);
        } else {
          const Bytes& theirs = reference[1];  // green, blue, red
          CHECK(Bytes(frames[1].begin(), frames[1].begin() + 1700) ==
                Bytes(theirs.begin() + 3400, theirs.end()));
        }
      }
    }
  }

  TEST_CASE("a turned mosaic keeps the colour of every pixel") {
    for (const Cfa cfa : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
      for (const Size size : {Size{6, 4}, Size{5, 4}, Size{6, 3}, Size{5, 3}}) {
        for (int quarters = 0; quarters < 4; ++quarters) {
          std::vector<std::byte> colours;
          for (int y = 0; y < size.height_px; ++y) {
            for (int x = 0; x < size.width_px; ++x) {
              colours.push_back(static_cast<std::byte>(cfa_colour_at(cfa, x, y)));
            }
          }
          std::vector<std::byte> turned(colours.size());
          turn({colours.data(), size.width_px, size.height_px, size.width_px, SampleType::u8},
               quarters, turned.data());
          const Size after = turned_size(size, quarters);
          const Cfa expected = turned_cfa(cfa, size, quarters);
          for (int y = 0; y < after.height_px; ++y) {
            for (int x = 0; x < after.width_px; ++x) {
              CHECK(
                  std::to_integer<int>(turned[static_cast<std::size_t>(y * after.width_px + x)]) ==
                  cfa_colour_at(expected, x, y));
            }
          }
        }
      }
    }
  }
}
