#pragma once

#include <array>

#include "capture/capture.h"
#include "stack/accumulator.h"

namespace lull::stack {

/// Sums of red, green and blue on the reference's grid, by the sampler that suits the capture.
/// @param offsets  see Accumulator::set_offsets.
[[nodiscard]] Accumulator colour_sums(const capture::CaptureInfo& info,
                                      const std::array<Displacement, 3>& offsets);

}  // namespace lull::stack
