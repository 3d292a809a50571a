#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace lull::files {

/// An ICC profile of values that follow the sRGB curve (IEC 61966-2-1), white point D65; of one
/// channel a gray profile with the same curve. Equal bytes at every call.
/// @param channels  1 or 3.
[[nodiscard]] std::vector<std::byte> srgb_profile(int channels);

/// Whether the profile states that values are not proportional to light. Profiles that
/// state nothing of it, or are damaged, count as stretched: most pictures with a profile are.
[[nodiscard]] bool is_stretched(std::span<const std::byte> profile);

}  // namespace lull::files
