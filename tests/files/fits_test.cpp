// Covers: files/fits_read, files/fits_write, files/fits_cards
#include "files/fits.h"

#include <doctest/doctest.h>
#include <fitsio.h>

#include <filesystem>
#include <limits>

#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using test::contains;

namespace {

std::string card(const std::filesystem::path& path, const std::string& key) {
  const test::Run ran = test::run_pictures({"card", path.string(), key});
  CAPTURE(ran.text());
  REQUIRE(ran.status == 0);
  return ran.text();
}

std::string long_text(const std::filesystem::path& path, const char* key) {
  int status = 0;
  fitsfile* fits = nullptr;
  char* text = nullptr;
  fits_open_diskfile(&fits, path.c_str(), READONLY, &status);
  fits_read_key_longstr(fits, key, &text, nullptr, &status);
  REQUIRE(status == 0);
  std::string result = text;
  fits_free_memory(text, &status);
  fits_close_file(fits, &status);
  return result;
}

void check_conforms(const std::filesystem::path& path) {
  const test::Run ran = test::run_program({"fitsverify", path.string()});
  CAPTURE(ran.text());
  CHECK(ran.status == 0);
  CHECK(contains(ran.text(), "found 0 warning(s) and 0 error(s)"));
}

/// 4 columns, 8 rows, 0 to 31 in reading order.
Picture ramp(float step) {
  Picture picture = make_picture({4, 8}, 1);
  for (int i = 0; i < 32; ++i) picture.channels[0].row(i / 4)[i % 4] = static_cast<float>(i) * step;
  return picture;
}

Metadata long_metadata() {
  Metadata metadata = test::sample_metadata();
  metadata.cards.push_back({"OPTIONS", std::string(300, 'o') + " ended", "all"});
  metadata.cards.push_back({"QUOTED", std::string("it's 'quoted' &"), "short"});
  metadata.cards.push_back(
      {"LONGQUOT", std::string(200, 'q') + " it's 'quoted' and ended", "long"});
  metadata.cards.push_back({"PLACE", std::string("K\xC3\xB6nigsstuhl\n2"), "not ASCII"});
  metadata.cards.push_back({"UNKNOWN", std::numeric_limits<double>::quiet_NaN(), "no number"});
  metadata.cards.push_back({"THIRD", 1.0 / 3.0, "all digits"});
  metadata.cards.push_back({"LARGE", std::int64_t{9007199254740993}, "more than a double holds"});
  metadata.description += "\n" + std::string(200, 'd');
  return metadata;
}

}  // namespace

TEST_SUITE("files/fits") {
  TEST_CASE("DATASUM equals astropy's: float32 3892314119, for 0 to 31") {
    // Computed with astropy 5.2.1 on arrays of 8 rows and 4 columns.
    const test::TemporaryFolder folder;
    write_fits_float(folder / "f.fits", ramp(1.0F).view(), {});
    CHECK(card(folder / "f.fits", "DATASUM") == "3892314119\n");
  }

  TEST_CASE("astropy reads the floats bit for bit, top row first, checksums in order") {
    for (const Size size : {Size{1, 1}, Size{67, 1}, Size{1, 41}, Size{301, 211}}) {
      for (const int channels : {1, 3}) {
        CAPTURE(size.width_px);
        CAPTURE(channels);
        const test::TemporaryFolder folder;
        const std::string file = (folder / "a.fits").string();
        const std::string raw = (folder / "raw").string();
        const Picture picture = test::seeded_picture(size, channels, 13);
        write_fits_float(file, picture.view(), test::sample_metadata());
        const test::Run ran = test::run_pictures({"read", "astropy", file, raw});
        CAPTURE(ran.text());
        REQUIRE(ran.status == 0);
        CHECK(contains(ran.text(), "float32"));
        CHECK(test::values_of<float>(raw) == test::samples_of(picture));
        check_conforms(file);
      }
    }
  }

  TEST_CASE("figures and options come back from the header, long and odd ones too") {
    const test::TemporaryFolder folder;
    const auto file = folder / "a.fits";
    write_fits_float(file, ramp(1.0F).view(), long_metadata());
    check_conforms(file);
    CHECK(card(file, "KEPT") == "300\n");
    CHECK(card(file, "NOISE") == "0.00125\n");
    CHECK(card(file, "DRIZZLED") == "False\n");
    CHECK(card(file, "CAPTURE") == "highland.mkv\n");
    CHECK(card(file, "OPTIONS") == std::string(300, 'o') + " ended\n");
    CHECK(card(file, "QUOTED") == "it's 'quoted' &\n");
    // astropy 5.2.1 loses what follows a quote in a CONTINUE card; CFITSIO does not.
    CHECK(long_text(file, "LONGQUOT") == std::string(200, 'q') + " it's 'quoted' and ended");
    CHECK(card(file, "PLACE") == "K?nigsstuhl?2\n");
    CHECK(card(file, "UNKNOWN") == "nan\n");
    CHECK(std::stod(card(file, "THIRD")) == 1.0 / 3.0);
    CHECK(card(file, "LARGE") == "9007199254740993\n");
    CHECK(card(file, "DATE") == "2026-03-05T21:00:00\n");
    CHECK(card(file, "SOFTWARE") == "Lull " LULL_VERSION "\n");
    CHECK(card(file, "LINEAR") == "True\n");
    CHECK(contains(card(file, "COMMENT"), "first row of the array is the top row"));
    const std::string history = card(file, "HISTORY");
    CHECK(contains(history, "stacked from 300 of 2000 frames\n"));
    CHECK(contains(history, std::string(72, 'd')));  // FITS 4.0: text of a card has 72 columns
  }

  TEST_CASE("file names are taken literally, not as CFITSIO's extended syntax") {
    const test::TemporaryFolder folder;
    std::filesystem::create_directory(folder / "a [b]+(c)");
    const std::string names[] = {"x[1].fits", "x(2).fits",  "!x.fits",     "x+3.fits",
                                 "-.fits",    "mem:x.fits", "x,y *?.fits", "x.gz.fits"};
    for (const std::string& name : names) {
      CAPTURE(name);
      const auto file = folder / "a [b]+(c)" / name;
      write_fits_float(file, ramp(1.0F).view(), {});
      CHECK(std::filesystem::is_regular_file(file));
      CHECK(test::samples_of(read_fits(file).picture) == test::samples_of(ramp(1.0F)));
    }
    CHECK(folder.names() == std::vector<std::string>{"a [b]+(c)"});
  }

  TEST_CASE("equal input gives equal bytes") {
    const test::TemporaryFolder folder;
    write_fits_float(folder / "a.fits", ramp(1.0F).view(), long_metadata());
    write_fits_float(folder / "b.fits", ramp(1.0F).view(), long_metadata());
    const std::string bytes = test::text_of(folder / "a.fits");
    CHECK(bytes == test::text_of(folder / "b.fits"));
    // No card may hold the time of writing.
    Metadata undated = long_metadata();
    undated.date.reset();
    write_fits_float(folder / "c.fits", ramp(1.0F).view(), undated);
    CHECK_FALSE(contains(test::text_of(folder / "c.fits"), "DATE"));
    CHECK_FALSE(contains(test::text_of(folder / "c.fits"), "updated"));
  }
}
