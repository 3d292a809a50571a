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

/// Frames of a longer capture would fill the memory with their records alone: at 1,000 frames a
/// second it lasts three hours.
inline constexpr std::int64_t kMostFrames = 10'000'000;

/// @throws InputError when a capture has more than kMostFrames.
void check_frame_count(const std::string& path, std::int64_t frames);

/// Threads that decode frames of that size: pictures at work stay below 1 GiB.
[[nodiscard]] int decoder_threads(Size size, int wanted);

}  // namespace lull::capture
