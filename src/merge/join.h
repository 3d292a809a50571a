#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "core/progress.h"
#include "merge/luminance.h"
#include "merge/match_blur.h"
#include "merge/registration.h"

namespace lull::merge {

/// The stacks in their order: red, green, blue, luminance.
inline constexpr std::size_t kGreen = 1;
inline constexpr std::size_t kLuminance = 3;

/// The one onto whose grid the others are brought: the luminance, or green where there is none.
[[nodiscard]] constexpr std::size_t grid_of(std::size_t stacks) {
  return stacks > kLuminance ? kLuminance : kGreen;
}

/// A stack of one filter.
struct FilterStack {
  std::string name;  ///< for messages
  Light light;       ///< with what lies beyond its edges
  Box picture;       ///< where it lies in it
  Sharpness sharpness;
  double scale = 1;  ///< its pixels for one of a common size, as far as that is known
};

enum class BlurMatch { to_the_grid, left };

struct JoinOptions {
  Bend bend = Bend::followed;
  BlurMatch blur = BlurMatch::to_the_grid;
};

/// How a stack came onto the grid.
struct Part {
  Similarity whole;        ///< of the areas that show light
  Displacement shift;      ///< of the middle of the pictures, without what lies beyond their edges
  double bent_rms_px = 0;  ///< of the field inside the joined picture
  std::vector<spectrum::FilterPoint> gains{};  ///< for its blur; empty: unchanged
};

/// A picture in colour, with its half stacks.
struct Joined {
  std::array<Light, 3> colours;  ///< with what lies beyond the edges
  Box picture;                   ///< where it lies in them
  Box of_grid;                   ///< the part of the grid's picture that it shows
  spectrum::FrcCurve frc;        ///< of the mean of its half stacks
  std::vector<Part> parts;       ///< red, green, blue, luminance
};

/// The stacks on the grid of the luminance, or of green where there is none, each with the blur of
/// the stack of the grid. What all of them show is kept.
/// @param stacks  red, green, blue, and a luminance or not.
/// @throws NothingUsable where two do not show the same, or share too little of it.
[[nodiscard]] Joined join(std::vector<FilterStack> stacks, const JoinOptions& options,
                          const Progress& progress);

}  // namespace lull::merge
