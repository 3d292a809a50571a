#include "capture/chroma.h"

#include <doctest/doctest.h>

#include <string>

#include "capture/capture.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/chroma") {
  TEST_CASE("chroma lies where MPEG-2 and JPEG put it (ITU-T H.262, figure 6-1; JFIF 1.02)") {
    const TemporaryFolder folder;
    const auto open_as = [&](const std::string& codec, const std::string& pixel_format) {
      const std::string path = folder.file(codec + pixel_format + ".mkv");
      VideoFormat format{.codec = codec, .pixel_format = pixel_format};
      const VideoWriter probe(folder.file("probe.nut"),
                              {.codec = "rawvideo", .pixel_format = pixel_format});
      write_video(path, format, pictures_8(2, probe.picture_bytes(), 64));
      return Capture::open(path)->info().chroma;
    };
    const Chroma video = open_as("ffv1", "yuv420p");
    CHECK(video.first_x_px == 0);  // on the left luma column, between two rows
    CHECK(video.first_y_px == 0.5);
    const Chroma jpeg = open_as("mjpeg", "yuvj420p");
    CHECK(jpeg.first_x_px == 0.5);  // in the middle of four
    CHECK(jpeg.first_y_px == 0.5);
    // ITU-R BT.601-7, table 3: 224 levels of the difference signals around 128.
    CHECK(video.scale.to_light(128) == 0);
    CHECK(video.scale.to_light(240) == doctest::Approx(0.5));
    // JFIF 1.02: all levels.
    CHECK(jpeg.scale.to_light(128) == 0);
    CHECK(jpeg.scale.to_light(0) == doctest::Approx(-128.0 / 255));
  }

  TEST_CASE("a turned picture keeps every chroma sample beside its luma") {
    for (const Size luma : {Size{8, 6}, Size{7, 6}, Size{8, 5}, Size{7, 5}}) {
      for (int quarters = 0; quarters < 4; ++quarters) {
        CAPTURE(luma.width_px);
        CAPTURE(luma.height_px);
        CAPTURE(quarters);
        Chroma chroma;
        chroma.columns = 2;
        chroma.first_x_px = 0.25;
        const Chroma turned = turned_chroma(chroma, luma, quarters);
        // The last sample of the first row, followed through the turns one by one.
        const Size size = chroma.size_beside(luma);
        double x = chroma.first_x_px + 2 * (size.width_px - 1);
        double y = 0;
        int column = size.width_px - 1;
        int row = 0;
        Size samples = size;
        Size around = luma;
        for (int i = 0; i < quarters; ++i) {
          const double moved = around.height_px - 1 - y;
          y = x;
          x = moved;
          const int column_moved = samples.height_px - 1 - row;
          row = column;
          column = column_moved;
          std::swap(samples.width_px, samples.height_px);
          std::swap(around.width_px, around.height_px);
        }
        CHECK(turned.size_beside(around) == samples);
        CHECK(turned.first_x_px + turned.columns * column == doctest::Approx(x));
        CHECK(turned.first_y_px + turned.rows * row == doctest::Approx(y));
      }
    }
  }
}
