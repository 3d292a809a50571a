#include "draw/text.h"

#include <fmt/format.h>
#include <ft2build.h>
#include <utf8.h>

#include <algorithm>
#include <stdexcept>

#include "core/assert.h"
#include "draw/font_file.h"
#include FT_FREETYPE_H
#include FT_MODULE_H

namespace lull::draw {

namespace {

void check(FT_Error error, const char* step) {
  if (error != 0)
    throw std::runtime_error(fmt::format("FreeType: {} failed with error {}", step, error));
}

// FreeType counts in 64ths of a pixel.
int whole_px(FT_Pos length) { return static_cast<int>((length + 32) >> 6); }

}  // namespace

std::u32string characters_of(std::string_view utf8) {
  std::u32string out;
  auto at = utf8.begin();
  while (at != utf8.end()) {
    const auto invalid = utf8::find_invalid(at, utf8.end());
    while (at != invalid) out += static_cast<char32_t>(utf8::unchecked::next(at));
    if (at == utf8.end()) break;
    out += U'\uFFFD';
    ++at;
  }
  return out;
}

struct Font::Face {
  FT_Library library = nullptr;
  FT_Face face = nullptr;

  Face() = default;
  Face(const Face&) = delete;
  Face& operator=(const Face&) = delete;

  ~Face() { FT_Done_FreeType(library); }  // with its faces

  [[nodiscard]] FT_GlyphSlot load(FT_UInt glyph, FT_Int32 how) const {
    check(FT_Load_Glyph(face, glyph, how), "loading a glyph");
    return face->glyph;
  }

  // Calls use(glyph, x_px) for each character; returns the pen position after the last.
  template <class Use>
  int walk(std::u32string_view line, const Use& use) const {
    int x = 0;
    FT_UInt before = 0;
    for (const char32_t c : line) {
      const FT_UInt glyph = FT_Get_Char_Index(face, c);
      FT_Vector kerning{};
      check(FT_Get_Kerning(face, before, glyph, FT_KERNING_UNFITTED, &kerning), "kerning");
      x += whole_px(kerning.x);
      x += use(glyph, x);
      before = glyph;
    }
    return x;
  }
};

Font::Font(int size_px) : face_(std::make_unique<Face>()) {
  LULL_ASSERT(size_px >= 1);
  check(FT_Init_FreeType(&face_->library), "its start");
  // The environment (FREETYPE_PROPERTIES) could choose another one, and so other pixels.
  FT_UInt interpreter = 40;
  check(FT_Property_Set(face_->library, "truetype", "interpreter-version", &interpreter),
        "choosing the interpreter of hints");
  check(FT_New_Memory_Face(face_->library, reinterpret_cast<const FT_Byte*>(kDejavuSans.data()),
                           static_cast<FT_Long>(kDejavuSans.size()), 0, &face_->face),
        "reading the font");
  check(FT_Set_Pixel_Sizes(face_->face, 0, static_cast<FT_UInt>(size_px)), "setting the size");
}

Font::~Font() = default;
Font::Font(Font&&) noexcept = default;
Font& Font::operator=(Font&&) noexcept = default;

int Font::ascent_px() const { return whole_px(face_->face->size->metrics.ascender); }

int Font::line_height_px() const { return whole_px(face_->face->size->metrics.height); }

int Font::cap_height_px() const {
  const FT_UInt glyph = FT_Get_Char_Index(face_->face, U'H');
  return whole_px(face_->load(glyph, FT_LOAD_DEFAULT)->metrics.horiBearingY);
}

int Font::width_px(std::u32string_view line) const {
  return face_->walk(line, [this](FT_UInt glyph, int) {
    return whole_px(face_->load(glyph, FT_LOAD_DEFAULT)->advance.x);
  });
}

std::vector<std::u32string> Font::wrapped(std::u32string_view text, int width_px) const {
  std::vector<int> starts;  // of each character, and ends: as if the text were one line
  std::vector<int> ends;
  face_->walk(text, [&](FT_UInt glyph, int x) {
    const int advance = whole_px(face_->load(glyph, FT_LOAD_DEFAULT)->advance.x);
    starts.push_back(x);
    ends.push_back(x + advance);
    return advance;
  });
  std::vector<std::u32string> lines;
  std::size_t from = 0;
  while (from < text.size()) {
    std::size_t to = from + 1;
    while (to < text.size() && ends[to] - starts[from] <= width_px) ++to;
    std::size_t next = to;
    if (to < text.size()) {
      const std::size_t space = text.rfind(U' ', to);
      if (space != std::u32string_view::npos && space > from) {
        to = space;
        next = space + 1;
      }
    }
    lines.emplace_back(text.substr(from, to - from));
    from = next;
  }
  return lines;
}

void Font::write(std::u32string_view line, int x_px, int baseline_px,
                 files::Picture& picture) const {
  face_->walk(line, [&](FT_UInt index, int pen_px) {
    const FT_GlyphSlot glyph = face_->load(index, FT_LOAD_RENDER);
    const FT_Bitmap& bitmap = glyph->bitmap;
    const int left = x_px + pen_px + glyph->bitmap_left;
    const int top = baseline_px - glyph->bitmap_top;
    for (Plane& plane : picture.channels) {
      const int from = std::max(0, -left);
      const int to = std::min(static_cast<int>(bitmap.width), plane.width() - left);
      for (int j = std::max(0, -top);
           j < std::min(static_cast<int>(bitmap.rows), plane.height() - top); ++j) {
        const unsigned char* coverage = bitmap.buffer + std::ptrdiff_t{j} * bitmap.pitch;
        float* row = plane.row(top + j);
        for (int i = from; i < to; ++i)
          row[left + i] += (1 - row[left + i]) * static_cast<float>(coverage[i]) / 255.0F;
      }
    }
    return whole_px(glyph->advance.x);
  });
}

}  // namespace lull::draw
