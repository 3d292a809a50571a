#pragma once

#include <string>

#include "core/geometry.h"

namespace lull::capture {

/// A larger frame size is treated as a damaged header. Sides stay below what libav and 16-bit
/// formats can hold; the area bounds memory.
inline constexpr int kMaxSidePx = 65'500;
inline constexpr std::int64_t kMaxAreaPx = std::int64_t{1} << 30;

/// @throws InputError when no camera gives frames of that size.
void check_size(const std::string& path, Size size);

}  // namespace lull::capture
