#include "draw/annotate.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "draw/text.h"

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

// Column of the first white pixel from row `from_y` on.
int run_from(const Plane& plane, int from_y) {
  int column = plane.width();
  for (int y = from_y; y < plane.height(); ++y) {
    const float* row = plane.row(y);
    column = std::min(column, static_cast<int>(std::find(row, row + plane.width(), 1.0F) - row));
  }
  return column;
}

}  // namespace

TEST_SUITE("draw/annotate") {
  TEST_CASE("the picture stays as it is, in all channels, above a strip") {
    for (const int channels : {1, 3}) {
      const files::Picture picture = grey({300, 40}, channels);
      const files::Picture out = annotated(picture.view(), {"Moon", ScaleBar{70, "20″"}});
      REQUIRE(out.channels.size() == picture.channels.size());
      CHECK(out.size() == Size{300, 40 + 2 * Font(14).line_height_px() + 12});
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

  TEST_CASE("the bar is level with the middle of the figures beside it") {
    for (const int width : {200, 640, 1900}) {
      CAPTURE(width);
      const files::Picture out = annotated(grey({width, 30}, 1).view(), {"", ScaleBar{40, "H"}});
      const auto rows_of = [&](int from_x, int to_x) {
        int first = 0;
        int last = 0;
        for (int y = 30; y < out.size().height_px; ++y) {
          const float* row = out.channels[0].row(y);
          if (*std::max_element(row + from_x, row + to_x) < 0.5F) continue;
          if (first == 0) first = y;
          last = y;
        }
        return std::pair{first, last};
      };
      const int margin = run_from(out.channels[0], 30);
      const auto bar = rows_of(margin, margin + 40);
      const auto letter = rows_of(margin + 40, width);
      CHECK(std::abs(bar.first + bar.second - letter.first - letter.second) <= 2);  // half pixels
    }
  }

  TEST_CASE("letters are 14 px high up to a width of 640 px, and grow with wider pictures") {
    const auto strip = [](int width, const std::string& text) {
      return annotated(grey({width, 30}, 1).view(), {text, {}}).size().height_px - 30;
    };
    for (const auto& one : {std::tuple{112, 14, 6}, {640, 14, 6}, {960, 21, 9}, {2000, 44, 19}}) {
      const auto width = std::get<0>(one);
      const auto size = std::get<1>(one);
      const auto margin = std::get<2>(one);
      CAPTURE(width);
      CHECK(strip(width, "A") == Font(size).line_height_px() + 2 * margin);
    }
  }

  TEST_CASE("a long caption goes on in further lines, and no letter is cut off") {
    for (const int width : {112, 320, 2000}) {
      CAPTURE(width);
      const files::Picture out =
          annotated(grey({width, 30}, 1).view(),
                    {"Jupiter, 2026-03-01 20:15:03 UTC, 203 mm, best 150 of 200 frames, \u00C5gj|",
                     ScaleBar{width / 4, "20\u2033"}});
      const Size size = out.size();
      CHECK((size.height_px > 150) == (width != 320));
      for (int y = 30; y < size.height_px; ++y) {
        const float* row = out.channels[0].row(y);
        CHECK(row[0] == 0);
        CHECK(row[width - 1] == 0);
        if (y < 31 || y > size.height_px - 2)
          CHECK(std::all_of(row, row + width, [](float v) { return v == 0; }));
      }
    }
  }

  TEST_CASE("a caption never parts a number from its unit") {
    const Font font(14);
    const int margin = 6;
    const int width = font.width_px(U"details of 7") + 2 * margin + 1;
    // Where the first line of the caption ends, px.
    const auto end_of_line = [&](const std::string& caption) {
      const files::Picture out = annotated(grey({width, 30}, 1).view(), {caption, {}});
      int end = 0;
      for (int y = 30; y < 30 + margin + font.line_height_px(); ++y) {
        for (int x = 0; x < width; ++x)
          if (out.channels[0].row(y)[x] > 0.5F) end = std::max(end, x + 1);
      }
      return end - margin;
    };
    CHECK(end_of_line("details of 7 frames") > font.width_px(U"details of "));
    CHECK(end_of_line("details of 7 px") <= font.width_px(U"details of "));
  }

  TEST_CASE("a label that does not fit beside the bar is written below it") {
    const auto height = [](int width, const std::string& label) {
      return annotated(grey({width, 30}, 1).view(), {"", ScaleBar{28, label}}).size().height_px;
    };
    const int one_line = height(112, "20\u2033");
    CHECK(height(400, "a label of some words") == one_line);
    CHECK(height(112, "a label of some words") > one_line);
  }
}
