#pragma once

#include <array>
#include <cstdint>

#include "capture/libav.h"

namespace lull::capture {

enum class PaletteKind {
  identity,  ///< entry i is gray of brightness i, or there is no palette: indices are samples
  gray,      ///< every entry is gray
  colour,
};

[[nodiscard]] PaletteKind palette_kind(const AVFrame& picture);

/// Brightness of each index in one colour (0 red, 1 green, 2 blue) of an AV_PIX_FMT_PAL8 picture.
[[nodiscard]] std::array<std::uint8_t, 256> palette_table(const AVFrame& picture, int colour);

}  // namespace lull::capture
