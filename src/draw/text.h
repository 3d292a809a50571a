#pragma once

#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "files/picture.h"

namespace lull::draw {

/// The characters of a UTF-8 text. Each byte that is not part of a character (RFC 3629) becomes
/// U+FFFD.
[[nodiscard]] std::u32string characters_of(std::string_view utf8);

/// DejaVu Sans at one size, drawn by FreeType. The build puts the font file into the program.
/// Characters are placed one after the other with the kerning of the font; nothing is joined or
/// reordered, as Arabic would need. A character that the font lacks is drawn as its .notdef glyph,
/// an empty box. Not safe to use from two threads at once; two fonts are.
class Font {
 public:
  /// @param size_px  height of the em square, at least 1. @throws std::runtime_error.
  explicit Font(int size_px);
  ~Font();
  Font(Font&&) noexcept;
  Font& operator=(Font&&) noexcept;

  [[nodiscard]] int ascent_px() const;       ///< from the top of a line to its baseline
  [[nodiscard]] int line_height_px() const;  ///< from one baseline to the next
  [[nodiscard]] int cap_height_px() const;   ///< of the capital H above the baseline

  /// From the first pen position to the one after the last character.
  [[nodiscard]] int width_px(std::u32string_view line) const;

  /// Lines of at most `width_px`, broken at spaces. A word that is wider is broken inside, but a
  /// line has at least one character.
  [[nodiscard]] std::vector<std::u32string> wrapped(std::u32string_view text, int width_px) const;

  /// Draws a line in white, anti-aliased, in all channels. Clipped to the picture.
  /// @param x_px,baseline_px  first pen position: its column, and the row below the letters.
  void write(std::u32string_view line, int x_px, int baseline_px, files::Picture& picture) const;

 private:
  struct Face;
  std::unique_ptr<Face> face_;
};

}  // namespace lull::draw
