#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "align/shift_field.h"
#include "stack/channel_samples.h"

namespace lull::stack {

/// Two disjoint parts of the frames: neighbours in rank fall into different ones.
enum class Half { first, second };

inline constexpr std::array kHalves{Half::first, Half::second};

[[nodiscard]] constexpr Half half_of(std::size_t position) { return kHalves[position % 2]; }

/// What of a frame goes into a stack.
enum class Channels {
  luminance,  ///< one
  colours,    ///< red, green and blue
};

/// One frame on its way into a stack.
struct Contribution {
  std::array<ChannelSamples, 3> channels;  ///< as many as the stack has
  const align::ShiftField* field = nullptr;
  /// Weight on the field's nodes, bilinear between them; on top of it the weight fades to zero
  /// over the last pixel before the nearest edge of the frame, so that no edge shows in the stack.
  const std::vector<float>* weights = nullptr;
  double gain = 1;
  bool in_reference = false;  ///< it has helped to make the reference
  Half half = Half::first;
};

}  // namespace lull::stack
