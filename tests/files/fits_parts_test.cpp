#include "files/fits_parts.h"

#include <doctest/doctest.h>

#include <fstream>
#include <limits>

#include "core/error.h"
#include "files/fits.h"
#include "files/fits_cards.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;

namespace {

const FitsTable kTable{"CURVE",
                       {{"FREQUENCY", "cycles/pixel", {0.1, 0.2, 1.0 / 3}},
                        {"VALUE", "", {-1e300, 5e-324, 0.30000000000000004}}}};

FitsParts parts_with(const Picture& picture) {
  FitsParts parts;
  parts.images.push_back({"NOISE", "noise of the picture", picture.view()});
  parts.tables.push_back(kTable);
  return parts;
}

}  // namespace

TEST_SUITE("files/fits_parts") {
  TEST_CASE(
      "astropy and fitsverify accept the extensions, every value is the one that was written") {
    for (const int channels : {1, 3}) {
      const test::TemporaryFolder folder;
      const std::string file = (folder / "a.fits").string();
      const Picture picture = test::seeded_picture({31, 17}, channels, 5);
      write_fits_float(file, picture.view(), {}, parts_with(picture));
      const auto ran = test::run_pictures({"parts", file, (folder / "raw").string()});
      CAPTURE(ran.text());
      REQUIRE(ran.status == 0);
      CHECK(ran.text() == (channels == 1 ? "NOISE 17 31\nCURVE FREQUENCY VALUE\n"
                                         : "NOISE 3 17 31\nCURVE FREQUENCY VALUE\n"));
      std::vector<double> expected;
      for (const Plane& plane : picture.channels) {
        for (int y = 0; y < 17; ++y)
          expected.insert(expected.end(), plane.row(y), plane.row(y) + 31);
      }
      for (const auto& column : kTable.columns)
        expected.insert(expected.end(), column.values.begin(), column.values.end());
      CHECK(test::values_of<double>(folder / "raw") == expected);
      const auto verified = test::run_program({"fitsverify", "-q", file});
      CAPTURE(verified.text());
      CHECK(verified.status == 0);
    }
  }

  TEST_CASE("an image extension has cards of its own, as astropy reads them") {
    const test::TemporaryFolder folder;
    const std::string file = (folder / "a.fits").string();
    const Picture picture = test::seeded_picture({31, 17}, 1, 5);
    FitsParts parts = parts_with(picture);
    parts.images[0].cards = {{"NODESTEP", 8.0, "[px] from node to node"},
                             {"BUNIT", std::string("frames"), "of the values"}};
    write_fits_float(file, picture.view(), {}, parts);
    const auto ran = test::run_program({"/usr/bin/python3", "-c",
                                        "import sys; from astropy.io import fits\n"
                                        "h = fits.getheader(sys.argv[1], 'NOISE')\n"
                                        "print(h['NODESTEP'], h['BUNIT'], h.comments['NODESTEP'])",
                                        file});
    CAPTURE(ran.text());
    CHECK(ran.text() == "8.0 frames [px] from node to node\n");
    CHECK(test::run_program({"fitsverify", "-q", file}).status == 0);
  }

  TEST_CASE("they come back to the bit; missing and damaged parts are distinguished") {
    const test::TemporaryFolder folder;
    const std::string file = (folder / "a.fits").string();
    const Picture picture = test::seeded_picture({31, 17}, 3, 6);
    write_fits_float(file, picture.view(), {}, parts_with(picture));
    const auto image = read_fits_image(file, "NOISE");
    REQUIRE(image);
    CHECK(test::samples_of(*image) == test::samples_of(picture));
    const auto table = read_fits_table(file, "CURVE");
    REQUIRE(table);
    for (const auto& column : kTable.columns) {
      REQUIRE(table->find(column.name) != nullptr);
      CHECK(*table->find(column.name) == column.values);
    }
    CHECK(table->find("OTHER") == nullptr);
    CHECK_FALSE(read_fits_image(file, "OTHER"));
    CHECK_FALSE(read_fits_table(file, "NOISE"));
    CHECK(count_fits_images(file) == 2);
    CHECK(test::samples_of(read_picture(file).picture) == test::samples_of(picture));

    const std::string bytes = test::text_of(file);
    std::ofstream(folder / "cut.fits", std::ios::binary) << bytes.substr(0, bytes.size() - 2880);
    const auto message = test::message_of<InputError>(
        [&] { static_cast<void>(read_fits_table(folder / "cut.fits", "CURVE")); });
    CHECK(message.find("cut.fits") != std::string::npos);
  }

  TEST_CASE("samples that are no numbers are refused") {
    const test::TemporaryFolder folder;
    Picture picture = test::seeded_picture({31, 17}, 1, 7);
    FitsParts parts = parts_with(picture);
    Picture bad = test::seeded_picture({31, 17}, 1, 7);
    bad.channels[0].row(3)[4] = std::numeric_limits<float>::infinity();
    parts.images[0].picture = bad.view();
    write_fits_float(folder / "a.fits", picture.view(), {}, parts);
    CHECK_FALSE(test::message_of<InputError>([&] {
                  static_cast<void>(read_fits_image(folder / "a.fits", "NOISE"));
                }).empty());
  }

  TEST_CASE("cards keep their types, values and comments") {
    const test::TemporaryFolder folder;
    Metadata metadata;
    metadata.cards = {{"NKEPT", std::int64_t{300}, "frames in the stack"},
                      {"RESOL", 1 / 0.29940119760479045, "[px] finest period"},
                      {"SEAMLESS", true, "flag"},
                      {"CAPTURE", std::string(150, 'x') + " it's", "file name"}};
    write_fits_float(folder / "a.fits", test::seeded_picture({20, 20}, 1, 8).view(), metadata);
    const auto cards =
        read_typed_cards(folder / "a.fits", {"NKEPT", "NOTHERE", "RESOL", "SEAMLESS", "CAPTURE"});
    REQUIRE(cards.size() == metadata.cards.size());
    for (std::size_t i = 0; i < cards.size(); ++i) {
      CAPTURE(cards[i].key);
      CHECK(cards[i].key == metadata.cards[i].key);
      CHECK(cards[i].value == metadata.cards[i].value);
      CHECK(cards[i].comment == metadata.cards[i].comment);
    }
  }
}
