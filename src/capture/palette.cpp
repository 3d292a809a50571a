#include "capture/palette.h"

#include <cstring>

namespace lull::capture {

namespace {

/// 0xAARRGGBB in the machine's byte order; libav keeps it in the second data pointer.
[[nodiscard]] std::uint32_t entry_of(const AVFrame& picture, std::size_t index) {
  std::uint32_t entry = 0;
  std::memcpy(&entry, picture.data[1] + 4 * index, sizeof entry);
  return entry;
}

[[nodiscard]] std::uint8_t channel(std::uint32_t entry, int colour) {
  return static_cast<std::uint8_t>(entry >> (16 - 8 * colour));
}

}  // namespace

PaletteKind palette_kind(const AVFrame& picture) {
  if (picture.data[1] == nullptr) return PaletteKind::identity;
  bool identity = true;
  bool empty = true;
  for (std::size_t i = 0; i < 256; ++i) {
    const std::uint32_t entry = entry_of(picture, i);
    const std::uint8_t red = channel(entry, 0);
    if (red != channel(entry, 1) || red != channel(entry, 2)) return PaletteKind::colour;
    identity = identity && red == i;
    empty = empty && red == 0;
  }
  // A palette that is black throughout was never filled in.
  return identity || empty ? PaletteKind::identity : PaletteKind::gray;
}

std::array<std::uint8_t, 256> palette_table(const AVFrame& picture, int colour) {
  std::array<std::uint8_t, 256> table{};
  for (std::size_t i = 0; i < table.size(); ++i) table[i] = channel(entry_of(picture, i), colour);
  return table;
}

}  // namespace lull::capture
