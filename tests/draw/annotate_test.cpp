#include "draw/annotate.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "draw/glyphs.h"

using namespace lull;
using namespace lull::draw;

namespace {

files::Picture grey(Size size, int channels) {
  files::Picture picture = files::make_picture(size, channels);
  for (Plane& plane : picture.channels) {
    for (int y = 0; y < size.height_px; ++y) std::fill_n(plane.row(y), size.width_px, 0.25F);
  }
  return picture;
}

// White pixels of a row from the left edge on, up to the end of the first run.
int run_in(const Plane& plane, int y) {
  const float* row = plane.row(y);
  const float* end = row + plane.width();
  const float* first = std::find(row, end, 1.0F);
  return static_cast<int>(std::find(first, end, 0.0F) - first);
}

int white_in(const files::Picture& picture, int from_y) {
  int count = 0;
  const Plane& plane = picture.channels[0];
  for (int y = from_y; y < plane.height(); ++y)
    count += static_cast<int>(std::count(plane.row(y), plane.row(y) + plane.width(), 1.0F));
  return count;
}

}  // namespace

TEST_SUITE("draw/annotate") {
  TEST_CASE("the picture stays as it is, in all channels, above a strip") {
    for (const int channels : {1, 3}) {
      const files::Picture picture = grey({300, 40}, channels);
      const files::Picture out = annotated(picture.view(), {"Moon", ScaleBar{70, "20″"}});
      REQUIRE(out.channels.size() == picture.channels.size());
      CHECK(out.size() == Size{300, 40 + 2 * 18 + 12});
      for (const Plane& plane : out.channels) {
        for (int y = 0; y < 40; ++y)
          CHECK(std::all_of(plane.row(y), plane.row(y) + 300, [](float v) { return v == 0.25F; }));
        CHECK(plane.row(40)[0] == 0);
      }
    }
  }

  TEST_CASE("the bar has its length to the pixel, in small and large pictures") {
    for (const int width : {200, 640, 1900}) {
      const files::Picture out = annotated(grey({width, 30}, 1).view(), {"", ScaleBar{47, "x"}});
      int longest = 0;
      for (int y = 30; y < out.size().height_px; ++y)
        longest = std::max(longest, run_in(out.channels[0], y));
      CHECK(longest == 47);
    }
  }

  TEST_CASE("characters look as the font has them, twice as large in a picture twice as wide") {
    const auto a = std::find_if(kGlyphs.begin(), kGlyphs.end(),
                                [](const Glyph& glyph) { return glyph.code == U'A'; });
    int bits = 0;
    for (const unsigned row : a->rows) bits += __builtin_popcount(row);
    CHECK(bits == 22);  // counted in the font's picture of the letter
    CHECK(white_in(annotated(grey({640, 30}, 1).view(), {"A", {}}), 30) == bits);
    CHECK(white_in(annotated(grey({1280, 30}, 1).view(), {"A", {}}), 30) == 4 * bits);
  }

  TEST_CASE("what has no glyph, or is no UTF-8, becomes an empty square each") {
    const auto white = [](const std::string& text) {
      return white_in(annotated(grey({640, 30}, 1).view(), {text, {}}), 30);
    };
    const int square = white("\u25A1");
    CHECK(square > 0);
    CHECK(white("\U0001F315") == square);
    CHECK(white("\n") == square);
    CHECK(white("\xff") == square);
    CHECK(white("\xc3") == square);
    CHECK(white("\xe2\x80") == 2 * square);
    CHECK(white("\xc0\xaf") == 2 * square);  // overlong
    CHECK(white("é") != square);
    CHECK(white("Ω") != square);
  }

  TEST_CASE("a long caption goes on in lines broken at blanks; one without blanks too") {
    const auto lines = [](const std::string& text) {
      return (annotated(grey({102, 30}, 1).view(), {text, {}}).size().height_px - 30 - 12) / 18;
    };
    CHECK(lines("ten letter") == 1);
    CHECK(lines("ten letters") == 2);
    CHECK(lines("one two three four five") == 3);
    CHECK(lines(std::string(25, 'x')) == 3);
  }
}
