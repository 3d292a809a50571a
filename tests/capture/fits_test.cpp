// Covers: capture/fits_source, capture/fits_image
#include <doctest/doctest.h>

#include <cstdio>
#include <cstring>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

namespace {

/// Files that astropy wrote once for all cases, as tests/capture/fits_files.py describes.
const TemporaryFolder& astropy_files() {
  struct Files {
    TemporaryFolder folder;

    Files() { reference_of("capture/fits_files.py", {folder.path()}); }
  };

  static const Files files;
  return files.folder;
}

/// The pictures as NumPy has them: height x width, planes and frames before, native words.
std::vector<Bytes> expected(const TemporaryFolder& folder, const std::string& name,
                            std::size_t frames) {
  const Bytes all = read_file(folder.file(name));
  REQUIRE(all.size() % frames == 0);
  std::vector<Bytes> pictures;
  const auto size = static_cast<std::ptrdiff_t>(all.size() / frames);
  for (auto at = all.begin(); at != all.end(); at += size) pictures.emplace_back(at, at + size);
  return pictures;
}

/// Linear light of a sample, by the scale of the capture.
double light_at(const Frame& frame, const CaptureInfo& info, int x, int y) {
  return info.scale.to_light(frame.planes[0].row<std::uint16_t>(y)[x]);
}

}  // namespace

TEST_SUITE("capture/fits") {
  TEST_CASE("cubes written by astropy give NumPy's samples, first row on top") {
    const TemporaryFolder& folder = astropy_files();
    for (const std::string kind : {"u8", "u16", "i16", "i32", "whole"}) {
      CAPTURE(kind);
      const auto capture = Capture::open(folder.file("cube_" + kind + ".fits"));
      CHECK(capture->info().size == Size{9, 7});
      CHECK(capture->info().storage.header_frames == 5);
      CHECK(capture->info().storage.container == "fits");
      CHECK(all_frames(*capture) ==
            expected(folder, kind == "u8" ? "cube_u8.raw" : "cube_u16.raw", 5));
      const auto fourth = capture->at(3);
      REQUIRE(fourth.ok());
      CHECK(fourth.value().index == 3);
    }
  }

  TEST_CASE("floating point keeps its light to half a step of 16 bits, below zero too") {
    const TemporaryFolder& folder = astropy_files();
    // light = value / 1 in cube_f32 (0.001 y + 0.01 x), value / 1024 in cube_signed (100 x - 50 y).
    const auto unit = Capture::open(folder.file("cube_f32.fits"));
    const auto first = unit->next();
    REQUIRE(first.ok());
    CHECK(light_at(first.value(), unit->info(), 8, 6) == doctest::Approx(0.086).epsilon(1e-4));
    CHECK(light_at(first.value(), unit->info(), 0, 0) == doctest::Approx(0));
    const auto with_sign = Capture::open(folder.file("cube_signed.fits"));
    const auto frame = with_sign->next();
    REQUIRE(frame.ok());
    CHECK(light_at(frame.value(), with_sign->info(), 0, 6) ==
          doctest::Approx(-300.0 / 1024).epsilon(1e-4));
    CHECK(light_at(frame.value(), with_sign->info(), 8, 0) ==
          doctest::Approx(800.0 / 1024).epsilon(1e-4));
  }

  TEST_CASE("colours, mosaics, row order and dates come from the header") {
    const TemporaryFolder& folder = astropy_files();
    const auto colours = Capture::open(folder.file("colours.fits"));
    CHECK(colours->info().colour == Colour::rgb);
    CHECK(all_frames(*colours) == expected(folder, "colours.raw", 2));
    const auto mosaic = Capture::open(folder.file("mosaic.fits"));
    CHECK(mosaic->info().cfa == Cfa::grbg);  // RGGB, seen from one column further right
    const auto upturned = Capture::open(folder.file("upturned.fits"));
    CHECK(all_frames(*upturned) == expected(folder, "cube_u16.raw", 5));
    // EXPTIME and EXPOSURE, in seconds: common practice, not in the FITS standard.
    CHECK(upturned->info().times.exposure_s == doctest::Approx(0.02));
    CHECK(mosaic->info().times.exposure_s == doctest::Approx(0.125));
    CHECK(colours->info().times.exposure_s == 0);
    CHECK(Capture::open(folder.file("longest.fits"))->info().times.exposure_s ==
          0);  // the header states -3 s
    REQUIRE(upturned->info().times.begun.has_value());
    CHECK(iso8601(*upturned->info().times.begun, 3) == "2024-03-01T20:15:30.250");
  }

  TEST_CASE("numbered FITS pictures are a capture, with times where each has a date") {
    const TemporaryFolder& folder = astropy_files();
    const auto capture = Capture::open(folder.file("night_%03d.fits"));
    auto frames = expected(folder, "cube_u16.raw", 5);
    frames[2].clear();  // is missing
    CHECK(all_frames(*capture) == frames);
    CHECK(capture->info().times.frames_per_s == doctest::Approx(2));
    const auto last = capture->at(4);
    REQUIRE(last.ok());
    CHECK(last.value().time_s == doctest::Approx(2));
  }

  TEST_CASE("a truncated cube gives its whole frames, and a note") {
    const TemporaryFolder& folder = astropy_files();
    Bytes file = read_file(folder.file("cube_u16.fits"));
    file.resize(2880 + 3 * 9 * 7 * 2 + 10);  // FITS Standard 4.0: blocks of 2880 bytes, one header
    write_file(folder.file("cut.fits"), file);
    const auto capture = Capture::open(folder.file("cut.fits"));
    CHECK(all_frames(*capture).size() == 3);
    REQUIRE(!capture->info().notes.empty());
    CHECK(capture->info().notes[0].find("states 5 frames") != std::string::npos);
  }

  // Their headers state the frames in NAXIS3 too, which the length of the file does not bear out.
  TEST_CASE("a compressed cube is refused before its number of frames is believed") {
    const std::string folder = LULL_TESTS "/fuzz/corpus/";
    for (const std::string file :
         {"fits_source/rice.fits", "fits_structure/compressed_rice_1.fits"}) {
      CAPTURE(file);
      CHECK(refusal_of(folder + file).find("compressed image, which is not read") !=
            std::string::npos);
    }
  }

  TEST_CASE("FITS files without a picture are refused with the reason") {
    const TemporaryFolder& folder = astropy_files();
    CHECK(refusal_of(folder.file("table.fits")).find("no image") != std::string::npos);
    CHECK(refusal_of(folder.file("line.fits")).find("1 axes") != std::string::npos);
  }
}
