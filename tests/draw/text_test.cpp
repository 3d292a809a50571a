// Covers: draw/font_file
#include "draw/text.h"

#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "draw/font_file.h"
#include "files/atomic_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::draw;

namespace {

constexpr int kX = 5;
constexpr int kBaseline = 80;

// A black picture with the text in white, as a portable graymap.
std::string graymap_of(const Font& font, const std::string& text, int width_px) {
  files::Picture picture = files::make_picture({width_px, 120}, 1);
  font.write(characters_of(text), kX, kBaseline, picture);
  std::string file = "P5 " + std::to_string(width_px) + " 120 255\n";
  for (int y = 0; y < 120; ++y) {
    for (int x = 0; x < width_px; ++x)
      file += static_cast<char>(std::lround(255 * picture.channels[0].row(y)[x]));
  }
  return file;
}

}  // namespace

TEST_SUITE("draw/text") {
  TEST_CASE("Pillow draws the same letters at the same places, with the kerning of the font") {
    const test::TemporaryFolder folder;
    files::write_file(folder / "font.ttf", std::string(kDejavuSans));
    for (const int size : {9, 14, 44}) {
      const Font font(size);
      for (const std::string text :
           {"AVATAR, Ty. To Wave", "Größe Ωμέγα Ёлка 20″", "2026-03-01 20:15:03 UTC (203 mm)",
            "\u4E2D\u6587"}) {  // the font has no Chinese
        CAPTURE(size);
        CAPTURE(text);
        const int width = font.width_px(characters_of(text));
        files::write_file(folder / "text.pgm", graymap_of(font, text, width + 4 * kX));
        const test::Run ran = test::run_python(
            "draw/text_values.py",
            {(folder / "font.ttf").string(), std::to_string(size), text,
             (folder / "text.pgm").string(), std::to_string(kX), std::to_string(kBaseline)});
        CAPTURE(ran.text());
        REQUIRE(ran.status == 0);
        const auto read = nlohmann::json::parse(ran.output);
        CHECK(read.at("length_px").get<double>() == width);
        CHECK(read.at("coverage").get<double>() > 255.0 * size);
        CHECK(read.at("most").get<int>() <= 2);  // of 255: rounding where letters touch
        if (text.starts_with("AV") && size >= 14) CHECK(read.at("kerning_px").get<int>() < -3);
      }
    }
  }

  TEST_CASE("bytes that are not UTF-8 (RFC 3629) become U+FFFD, each of them") {
    CHECK(characters_of("\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x8C\x99") == U"\u00E9 \u20AC \U0001F319");
    CHECK(characters_of("a\xFF"
                        "b") == U"a\uFFFDb");
    CHECK(characters_of("\xC3") == U"\uFFFD");
    CHECK(characters_of("\xE2\x82z") == U"\uFFFD\uFFFDz");          // cut off
    CHECK(characters_of("\xC0\xAF") == U"\uFFFD\uFFFD");            // overlong
    CHECK(characters_of("\xED\xA0\x80") == U"\uFFFD\uFFFD\uFFFD");  // half of a surrogate pair
    CHECK(characters_of("\xF4\x90\x80\x80").size() == 4);           // beyond U+10FFFF
    CHECK(characters_of("").empty());
  }

  TEST_CASE("lines break at the last space that fits; a word that is too wide breaks inside") {
    const Font font(14);
    const std::u32string text = U"one two three four five six seven eight nine ten";
    for (const int width : {60, 100, 101, 240, 1000}) {
      CAPTURE(width);
      const auto lines = font.wrapped(text, width);
      std::u32string joined;
      for (std::size_t i = 0; i < lines.size(); ++i) {
        CHECK(font.width_px(lines[i]) <= width);
        if (i > 0) {
          const std::u32string word = lines[i].substr(0, lines[i].find(U' '));
          CHECK(font.width_px(lines[i - 1] + U' ' + word) > width);
          joined += U' ';
        }
        joined += lines[i];
      }
      CHECK(joined == text);
    }
    const auto cut = font.wrapped(std::u32string(25, U'x'), 10 * font.width_px(U"x"));
    CHECK(cut == std::vector<std::u32string>{std::u32string(10, U'x'), std::u32string(10, U'x'),
                                             std::u32string(5, U'x')});
    CHECK(font.wrapped(U"xy", 1) == std::vector<std::u32string>{U"x", U"y"});
    CHECK(font.wrapped(U"", 100).empty());
  }

  TEST_CASE("what lies outside the picture is cut off") {
    files::Picture picture = files::make_picture({30, 20}, 3);
    const Font font(40);
    for (const int x : {-25, 15, 200}) {
      for (const int y : {-5, 10, 30, 200}) font.write(U"MWgj", x, y, picture);
    }
    for (const Plane& plane : picture.channels) {
      for (int y = 0; y < 20; ++y) {
        for (int x = 0; x < 30; ++x) CHECK((plane.row(y)[x] >= 0 && plane.row(y)[x] <= 1));
      }
    }
  }

  TEST_CASE("the program carries the font's licence, as it asks: fontTools reads it") {
    const test::TemporaryFolder folder;
    files::write_file(folder / "font.ttf", std::string(kDejavuSans));
    const test::Run ran = test::run_program(
        {"/usr/bin/python3", "-c",
         "import sys\nfrom fontTools.ttLib import TTFont\n"
         "names = TTFont(sys.argv[1])['name']\n"
         "print(names.getDebugName(4), names.getDebugName(0), names.getDebugName(13))",
         (folder / "font.ttf").string()});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    CHECK(ran.text().starts_with("DejaVu Sans Copyright (c) 2003 by Bitstream"));
    CHECK(ran.text().find("this permission notice shall") != std::string::npos);
  }
}
