#include "draw/xml_text.h"

#include <cstdint>

namespace lull::draw {

namespace {

// Bytes of the character at the start of `text` if XML allows it there, 0 if it does not.
std::size_t allowed_bytes(std::string_view text) {
  const auto byte = [text](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char first = byte(0);
  if (first < 0x80) return first >= 0x20 || first == '\t' || first == '\n' || first == '\r';
  const std::size_t length = first >= 0xF0 ? 4 : first >= 0xE0 ? 3 : 2;
  if (first < 0xC2 || first > 0xF4 || text.size() < length) return 0;
  std::uint32_t code = first & (0x7FU >> length);
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xC0U) != 0x80U) return 0;
    code = (code << 6U) | (byte(i) & 0x3FU);
  }
  constexpr std::uint32_t kLowest[] = {0, 0, 0x80, 0x800, 0x10000};
  const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
  const bool no_character = code == 0xFFFE || code == 0xFFFF || code > 0x10FFFF;
  return code < kLowest[length] || surrogate || no_character ? 0 : length;
}

std::string_view escape_of(char c) {
  switch (c) {
    case '&':
      return "&amp;";
    case '<':
      return "&lt;";
    case '>':
      return "&gt;";
    case '"':
      return "&quot;";
    default:
      return {};
  }
}

}  // namespace

std::string xml_text(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t length = allowed_bytes(text);
    const std::string_view escape = escape_of(text[0]);
    if (length == 0) {
      out += '?';
    } else if (!escape.empty()) {
      out += escape;
    } else {
      out += text.substr(0, length);
    }
    text.remove_prefix(length == 0 ? 1 : length);
  }
  return out;
}

}  // namespace lull::draw
