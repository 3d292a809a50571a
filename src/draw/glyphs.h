#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace lull::draw {

inline constexpr int kGlyphWidth = 9;
inline constexpr int kGlyphHeight = 18;

/// A character as rows of pixels, top row first; in a row the highest of the 9 bits is the left.
struct Glyph {
  char32_t code = 0;
  std::array<std::uint16_t, kGlyphHeight> rows{};
};

/// By rising code: ASCII, Latin of Europe, Greek, and some marks. From the fixed-width font 9x18 of
/// the X Window System (font-misc-misc): "Public domain font. Share and enjoy."
extern const std::span<const Glyph> kGlyphs;

}  // namespace lull::draw
