// Covers: files/png_read, files/png_write, files/icc
#include "files/png.h"

#include <doctest/doctest.h>

#include "files/gray_picture.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using test::contains;

TEST_SUITE("files/png") {
  TEST_CASE(
      "a gray picture as Pillow reads it: samples, no negative; a profile where it is stretched") {
    check_gray_picture("a.png", write_png16);
  }

  TEST_CASE("OpenCV reads the samples that were computed") {
    for (const Size size : {Size{1, 1}, Size{67, 1}, Size{1, 41}, Size{1001, 411}}) {
      for (const int channels : {1, 3}) {
        CAPTURE(size.width_px);
        CAPTURE(channels);
        const test::TemporaryFolder folder;
        const std::string file = (folder / "a.png").string();
        const std::string raw = (folder / "raw").string();
        const Picture picture = test::seeded_picture(size, channels, 11);
        const Encoding encoding = {-0.01, 1.01};
        write_png16(file, picture.view(), encoding, test::sample_metadata());
        const test::Run ran = test::run_pictures({"read", "cv2", file, raw});
        CAPTURE(ran.text());
        REQUIRE(ran.status == 0);
        CHECK(contains(ran.text(), "uint16"));
        CHECK(test::values_of<std::uint16_t>(raw) == test::encoded_samples_of(picture, encoding));
      }
    }
  }

  TEST_CASE("pngcheck accepts the file and shows text and time") {
    const test::TemporaryFolder folder;
    const std::string file = (folder / "a.png").string();
    write_png16(file, test::seeded_picture({301, 211}, 3, 11).view(), {}, test::sample_metadata());
    const test::Run ran = test::run_program({"pngcheck", "-v", "-t", file});
    CAPTURE(ran.text());
    CHECK(ran.status == 0);
    CHECK(contains(ran.text(), "301 x 211 image, 48-bit RGB, non-interlaced"));
    CHECK(contains(ran.text(), "No errors detected"));
    CHECK(contains(ran.text(), "Lull " LULL_VERSION));
    CHECK(contains(ran.text(), "Crater field at the terminator"));
    CHECK(contains(ran.text(), "linear values: 0 stands for 0, 65535 for 1"));
    CHECK(contains(ran.text(), "5 Mar 2026 21:00:00 UTC"));
    CHECK_FALSE(contains(ran.text(), "gAMA"));
  }

  TEST_CASE("text outside ASCII goes into an iTXt chunk, as UTF-8 (PNG 1.2, section 4.2.3.3)") {
    const test::TemporaryFolder folder;
    const std::string file = (folder / "a.png").string();
    Metadata metadata;
    metadata.description = "M\xC3\xB6ndchen";
    metadata.transfer = Transfer::screen;
    write_png16(file, make_picture({3, 2}, 1).view(), {}, metadata);
    const test::Run ran = test::run_program({"pngcheck", "-v", file});
    CAPTURE(ran.text());
    CHECK(ran.status == 0);
    CHECK(contains(ran.text(), "chunk iTXt"));
    CHECK(contains(test::text_of(file), "M\xC3\xB6ndchen\nstretched values"));
  }

  TEST_CASE("equal input gives equal bytes, the count of clamped samples comes back") {
    const test::TemporaryFolder folder;
    Picture picture = make_picture({3, 2}, 3);
    picture.channels[2].row(1)[2] = 1.5F;
    CHECK(write_png16(folder / "a.png", picture.view(), {}, {}) == Clipped{0, 1});
    CHECK(write_png16(folder / "b.png", picture.view(), {}, {}) == Clipped{0, 1});
    CHECK(test::text_of(folder / "a.png") == test::text_of(folder / "b.png"));
  }
}
