// Covers: files/tiff_read, files/tiff_write
#include "files/tiff.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "files/gray_picture.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using test::contains;

namespace {

std::string tag(const std::filesystem::path& path, const std::string& name) {
  const test::Run ran = test::run_pictures({"tag", path.string(), name});
  CAPTURE(ran.text());
  REQUIRE(ran.status == 0);
  return ran.text();
}

}  // namespace

TEST_SUITE("files/tiff") {
  TEST_CASE(
      "a gray picture as Pillow reads it: samples, no negative; a profile where it is stretched") {
    check_gray_picture("a.tif", write_tiff16);
  }

  TEST_CASE("tifffile reads an alpha channel behind the colours") {
    for (const int channels : {1, 3}) {
      CAPTURE(channels);
      const test::TemporaryFolder folder;
      const std::string file = (folder / "a.tif").string();
      const std::string raw = (folder / "raw").string();
      const Picture picture = test::seeded_picture({37, 21}, channels, 3);
      Plane seen(37, 21);
      for (int y = 0; y < 21; ++y) {
        for (int x = 0; x < 37; ++x) seen.row(y)[x] = x > y ? 0.3F : 0;
      }
      write_tiff16_alpha(file, picture.view(), {0, 1}, test::sample_metadata(), seen.view());
      const auto samples = test::encoded_samples_of(picture, {0, 1});
      std::vector<std::uint16_t> expected;
      for (int i = 0; i < 37 * 21; ++i) {
        for (int c = 0; c < channels; ++c)
          expected.push_back(samples[static_cast<std::size_t>(i * channels + c)]);
        expected.push_back(i % 37 > i / 37 ? 65535 : 0);
      }
      const test::Run ran = test::run_pictures({"read", "tifffile", file, raw});
      CAPTURE(ran.text());
      REQUIRE(ran.status == 0);
      CHECK(test::values_of<std::uint16_t>(raw) == expected);
      CHECK(read_tiff(file).has_alpha);
      CHECK(contains(tag(file, "ExtraSamples"), "2"));
    }
  }

  TEST_CASE("OpenCV and tifffile read the samples that were computed") {
    // Odd sizes, one-pixel edges, more than one strip of 1 MiB.
    for (const Size size : {Size{1, 1}, Size{67, 1}, Size{1, 41}, Size{131, 77}, Size{1001, 411}}) {
      for (const int channels : {1, 3}) {
        CAPTURE(size.width_px);
        CAPTURE(channels);
        const test::TemporaryFolder folder;
        const std::string file = (folder / "a.tif").string();
        const std::string raw = (folder / "raw").string();
        const Picture picture = test::seeded_picture(size, channels, 7);
        const Encoding encoding = {-0.01, 1.01};
        write_tiff16(file, picture.view(), encoding, test::sample_metadata());
        const auto expected = test::encoded_samples_of(picture, encoding);
        for (const char* reader : {"cv2", "tifffile"}) {
          CAPTURE(reader);
          const test::Run ran = test::run_pictures({"read", reader, file, raw});
          CAPTURE(ran.text());
          REQUIRE(ran.status == 0);
          CHECK(contains(ran.text(), "uint16"));
          CHECK(test::values_of<std::uint16_t>(raw) == expected);
        }
      }
    }
  }

  TEST_CASE("tiles and BigTIFF hold the same samples, for OpenCV, tifffile and this program") {
    const Size size = {531, 300};  // 3 x 2 tiles, the last ones partly beyond the picture
    for (const int channels : {1, 3}) {
      for (const TiffLayout layout : {TiffLayout{true, false}, {true, true}, {false, true}}) {
        CAPTURE(channels);
        CAPTURE(layout.tiled);
        CAPTURE(layout.big);
        const test::TemporaryFolder folder;
        const std::string file = (folder / "a.tif").string();
        const Picture picture = test::seeded_picture(size, channels, 7);
        const PictureView view = picture.view();
        const Encoding encoding = {-0.01, 1.01};
        const Clipped clipped = write_tiff16_bands(file, bands_of(view, encoding), layout, encoding,
                                                   test::sample_metadata());
        CHECK(clipped == write_tiff16(folder / "b.tif", view, encoding, test::sample_metadata()));
        // BigTIFF begins with 43 instead of 42 (TIFF 6.0, section 2, and the BigTIFF proposal).
        CHECK(test::text_of(file)[2] == (layout.big ? 43 : 42));
        const auto expected = test::encoded_samples_of(picture, encoding);
        for (const char* reader : {"cv2", "tifffile"}) {
          CAPTURE(reader);
          const test::Run ran = test::run_pictures({"read", reader, file, folder.file("raw")});
          CAPTURE(ran.text());
          REQUIRE(ran.status == 0);
          CHECK(test::values_of<std::uint16_t>(folder / "raw") == expected);
        }
        CHECK(test::samples_of(read_tiff(file).picture) ==
              test::samples_of(read_tiff(folder / "b.tif").picture));
        const test::Run info = test::run_program({"tiffinfo", "-D", "-i", file});
        CAPTURE(info.text());
        CHECK(info.status == 0);
        CHECK(contains(info.text(), "Tile Width: 256 Tile Length: 256") == layout.tiled);
        CHECK_FALSE(contains(info.text(), "arning"));
      }
    }
  }

  TEST_CASE("large pictures get tiles, and 64-bit offsets before 32 bits run out") {
    CHECK(tiff_layout({6000, 4000}, 3) == TiffLayout{false, false});
    CHECK(tiff_layout({10'000, 6000}, 1) == TiffLayout{true, false});
    CHECK(tiff_layout({20'000, 15'000}, 3) == TiffLayout{true, false});
    CHECK(tiff_layout({30'000, 23'000}, 3) == TiffLayout{true, true});
    CHECK(tiff_layout({45'000, 44'000}, 1) == TiffLayout{true, true});
  }

  TEST_CASE("tiffinfo decodes every strip and has nothing to warn about") {
    const test::TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      const std::string file = (folder / "a.tif").string();
      write_tiff16(file, test::seeded_picture({1001, 411}, channels, 7).view(), {},
                   test::sample_metadata());
      const test::Run ran = test::run_program({"tiffinfo", "-D", "-i", file});
      CAPTURE(ran.text());
      CHECK(ran.status == 0);
      CHECK_FALSE(contains(ran.text(), "arning"));
      CHECK_FALSE(contains(ran.text(), "rror"));
      CHECK(contains(ran.text(), "Image Width: 1001 Image Length: 411"));
      CHECK(contains(ran.text(), "Bits/Sample: 16"));
      CHECK(contains(ran.text(), "Compression Scheme: AdobeDeflate"));
      CHECK(contains(ran.text(), "Predictor: horizontal differencing 2 (0x2)"));
    }
  }

  TEST_CASE("tags say what TIFF 6.0 asks of a baseline image, and how the picture was made") {
    const test::TemporaryFolder folder;
    const auto file = folder / "a.tif";
    write_tiff16(file, make_picture({5, 4}, 3).view(), {0.0, 0.5}, test::sample_metadata());
    CHECK(tag(file, "DateTime") == "2026:03:05 21:00:00\n");  // form: TIFF 6.0, DateTime
    CHECK(tag(file, "Software") == "Lull " LULL_VERSION "\n");
    CHECK(contains(tag(file, "ResolutionUnit"), "1"));  // TIFF 6.0: 1 = no absolute unit
    CHECK(contains(tag(file, "XResolution"), "(1, 1)"));
    CHECK(contains(tag(file, "YResolution"), "(1, 1)"));
    const std::string description = tag(file, "ImageDescription");
    CHECK(contains(description, "Crater field at the terminator\n"));
    CHECK(contains(description, "linear values: 0 stands for 0, 65535 for 0.5\n"));
    CHECK(contains(description, "KEPT = 300  (frames in the stack)\n"));
    CHECK(contains(description, "DRIZZLED = false"));
  }

  // TIFF 6.0, PhotometricInterpretation: 1 = BlackIsZero, 2 = RGB.
  TEST_CASE("0 is black") {
    const test::TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      write_tiff16(folder / "a.tif", make_picture({5, 4}, channels).view(), {}, {});
      const std::string kind = tag(folder / "a.tif", "PhotometricInterpretation");
      CAPTURE(kind);
      CHECK(contains(kind, channels == 1 ? "1" : "2"));
    }
  }

  TEST_CASE("equal input gives equal bytes, the count of clamped samples comes back") {
    const test::TemporaryFolder folder;
    Picture picture = make_picture({3, 2}, 1);
    picture.channels[0].row(1)[2] = 1.5F;
    picture.channels[0].row(0)[0] = -0.5F;
    CHECK(write_tiff16(folder / "a.tif", picture.view(), {}, {}) == Clipped{1, 1});
    CHECK(write_tiff16(folder / "b.tif", picture.view(), {}, {}) == Clipped{1, 1});
    CHECK(test::text_of(folder / "a.tif") == test::text_of(folder / "b.tif"));
  }
}
