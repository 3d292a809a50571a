#include "files/colour_table.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <string>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

TEST_SUITE("files/colour_table") {
  namespace {

  using namespace lull;
  using files::Bitmap;

  // Belts of many hues, with shading.
  Bitmap belts() {
    Bitmap out{120, 90, 3, {}};
    for (int y = 0; y < out.height_px; ++y) {
      for (int x = 0; x < out.width_px; ++x) {
        const double shade = 1 - 0.8 * std::hypot(x / 120.0 - 0.5, y / 90.0 - 0.5);
        const double belt = 0.5 + 0.5 * std::sin(y / 5.0 + 0.3 * std::sin(x / 9.0));
        out.samples.push_back(static_cast<std::uint8_t>(250 * shade));
        out.samples.push_back(static_cast<std::uint8_t>(250 * shade * (0.6 + 0.35 * belt)));
        out.samples.push_back(static_cast<std::uint8_t>(250 * shade * (0.3 + 0.6 * belt)));
      }
    }
    return out;
  }

  std::vector<files::Rgb> table_of(const Bitmap& picture) {
    files::ColourCount count;
    count.add(picture);
    return count.table();
  }

  // Root mean square difference; smooth: of means over 8 x 8 px, as the eye sees a pattern.
  double error_of(const Bitmap& picture, bool smooth) {
    const files::IndexedColours colours(table_of(picture));
    std::vector<double> off;
    std::vector<std::uint8_t> row(static_cast<std::size_t>(picture.width_px));
    for (int y = 0; y < picture.height_px; ++y) {
      colours.row(picture, y, row.data());
      for (int x = 0; x < picture.width_px; ++x)
        for (std::size_t c = 0; c < 3; ++c)
          off.push_back(
              colours.table()[row[static_cast<std::size_t>(x)]][c] -
              picture.samples[static_cast<std::size_t>(y * picture.width_px + x) * 3 + c]);
    }
    double sum = 0;
    std::int64_t count = 0;
    const int side = smooth ? 8 : 1;
    for (int y = 0; y + side <= picture.height_px; y += side) {
      for (int x = 0; x + side <= picture.width_px; x += side) {
        for (int c = 0; c < 3; ++c) {
          double mean = 0;
          for (int j = 0; j < side; ++j)
            for (int i = 0; i < side; ++i)
              mean += off[static_cast<std::size_t>(((y + j) * picture.width_px + x + i) * 3 + c)];
          mean /= side * side;
          sum += mean * mean;
          ++count;
        }
      }
    }
    return std::sqrt(sum / static_cast<double>(count));
  }

  }  // namespace

  TEST_CASE("gray pictures keep their 256 levels") {
    Bitmap gray{256, 2, 1, {}};
    for (int i = 0; i < 512; ++i) gray.samples.push_back(static_cast<std::uint8_t>(i % 256));
    const auto table = table_of(gray);
    REQUIRE(table.size() == 256);
    const files::IndexedColours colours(table);
    std::vector<std::uint8_t> row(256);
    colours.row(gray, 1, row.data());
    for (int i = 0; i < 256; ++i) CHECK(table[row[static_cast<std::size_t>(i)]][1] == i);
  }

  TEST_CASE("256 colours are as near as PIL's median cut, and nearer where the eye averages") {
    const Bitmap picture = belts();
    CHECK(table_of(picture).size() == 256);
    const test::TemporaryFolder folder;
    test::Bytes bytes;
    for (const std::uint8_t sample : picture.samples) bytes.push_back(std::byte{sample});
    test::write_file(folder / "rgb", bytes);
    const double by_pil =
        std::stod(test::reference_of("files/colours.py", {folder.file("rgb"), "120", "90"}));
    CHECK(error_of(picture, false) < 1.3 * by_pil);  // the pattern adds to it
    CHECK(error_of(picture, true) < 0.5 * by_pil);
  }

  TEST_CASE("few colours stay as they are") {
    Bitmap two{2, 1, 3, {200, 10, 30, 5, 90, 250}};
    const files::IndexedColours colours(table_of(two));
    std::vector<std::uint8_t> row(2);
    colours.row(two, 0, row.data());
    CHECK(colours.table()[row[0]] == files::Rgb{200, 10, 30});
    CHECK(colours.table()[row[1]] == files::Rgb{5, 90, 250});
  }
}
