#include "draw/annotate.h"

#include <algorithm>
#include <string_view>
#include <vector>

#include "draw/glyphs.h"

namespace lull::draw {

namespace {

constexpr char32_t kNoGlyph = 0x25A1;  // an empty square
constexpr int kWidthPerStep = 640;     // of the picture, for letters twice, three times as large
constexpr int kMarginPx = 6;
constexpr int kBarPx = 3;  // its thickness

const Glyph* find_glyph(char32_t code) {
  const auto at = std::lower_bound(kGlyphs.begin(), kGlyphs.end(), code,
                                   [](const Glyph& g, char32_t c) { return g.code < c; });
  return at != kGlyphs.end() && at->code == code ? &*at : nullptr;
}

// The next character (RFC 3629); bytes that are none become kNoGlyph, one by one.
char32_t next_character(std::string_view& text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned first = byte(0);
  const std::size_t length = first < 0x80   ? 1
                             : first < 0xC2 ? 0
                             : first < 0xE0 ? 2
                             : first < 0xF0 ? 3
                             : first < 0xF5 ? 4
                                            : 0;
  char32_t code = length < 2 ? first : first & (0x7FU >> length);
  bool whole = length > 0 && text.size() >= length;
  for (std::size_t i = 1; whole && i < length; ++i) {
    whole = (byte(i) & 0xC0U) == 0x80;
    code = code << 6U | (byte(i) & 0x3FU);
  }
  text.remove_prefix(whole ? length : 1);
  return whole ? code : kNoGlyph;
}

std::vector<const Glyph*> glyphs_of(std::string_view text) {
  std::vector<const Glyph*> out;
  while (!text.empty()) {
    const Glyph* glyph = find_glyph(next_character(text));
    out.push_back(glyph != nullptr ? glyph : find_glyph(kNoGlyph));
  }
  return out;
}

using Line = std::vector<const Glyph*>;

// Lines of at most so many characters, broken at blanks where there are some.
std::vector<Line> lines_of(const Line& text, std::size_t most) {
  std::vector<Line> lines;
  auto from = text.begin();
  while (from != text.end()) {
    auto to = text.end() - from > static_cast<std::ptrdiff_t>(most)
                  ? from + static_cast<std::ptrdiff_t>(most)
                  : text.end();
    if (to != text.end()) {
      auto blank = to;
      while (blank != from && (*blank)->code != ' ') --blank;
      if (blank != from) to = blank;
    }
    lines.emplace_back(from, to);
    from = to != text.end() && (*to)->code == ' ' ? to + 1 : to;
  }
  return lines;
}

class Strip {
 public:
  Strip(files::Picture& picture, int step) : picture_(picture), step_(step) {}

  void write(const Line& line, int x, int y) {
    for (const Glyph* glyph : line) {
      for (int row = 0; row < kGlyphHeight; ++row) {
        for (int column = 0; column < kGlyphWidth; ++column) {
          const auto bit = 1U << static_cast<unsigned>(kGlyphWidth - 1 - column);
          if ((glyph->rows[static_cast<std::size_t>(row)] & bit) != 0)
            fill(x + column * step_, y + row * step_, step_, step_);
        }
      }
      x += kGlyphWidth * step_;
    }
  }

  void fill(int x, int y, int width, int height) {
    for (Plane& plane : picture_.channels) {
      for (int j = std::max(y, 0); j < std::min(y + height, plane.height()); ++j) {
        for (int i = std::max(x, 0); i < std::min(x + width, plane.width()); ++i)
          plane.row(j)[i] = 1;
      }
    }
  }

 private:
  files::Picture& picture_;
  int step_;
};

}  // namespace

files::Picture annotated(const files::PictureView& picture, const Annotation& annotation) {
  const Size size = picture.size();
  const int step = std::max(1, (size.width_px + kWidthPerStep / 2) / kWidthPerStep);
  const int margin = kMarginPx * step;
  const int line_height = kGlyphHeight * step;
  const int room = std::max(1, (size.width_px - 2 * margin) / (kGlyphWidth * step));
  const std::vector<Line> lines =
      lines_of(glyphs_of(annotation.caption), static_cast<std::size_t>(room));
  const int rows = static_cast<int>(lines.size()) + (annotation.bar ? 1 : 0);
  files::Picture out =
      files::make_picture({size.width_px, size.height_px + rows * line_height + 2 * margin},
                          static_cast<int>(picture.channels.size()));
  for (std::size_t c = 0; c < picture.channels.size(); ++c) {
    for (int y = 0; y < size.height_px; ++y)
      std::copy_n(picture.channels[c].row(y), size.width_px, out.channels[c].row(y));
  }
  Strip strip(out, step);
  int y = size.height_px + margin;
  if (annotation.bar) {
    const int thick = kBarPx * step;
    strip.fill(margin, y + (line_height - thick) / 2, annotation.bar->length_px, thick);
    strip.write(glyphs_of(annotation.bar->label), 2 * margin + annotation.bar->length_px, y);
    y += line_height;
  }
  for (const Line& line : lines) {
    strip.write(line, margin, y);
    y += line_height;
  }
  return out;
}

}  // namespace lull::draw
