#pragma once

#include <vector>

#include "stack/accumulator.h"
#include "stack/frame_batch.h"
#include "stack/spectral_ratio.h"

namespace lull::stack {

/// Compares some of the kept frames, from the best to the worst, with their stack. Those of a field
/// (object 0) are followed by usable frames that are taken evenly over the capture: no choice has
/// made these agree more.
/// @param kept  frames in it. @param object  light from which on a pixel belongs to the object.
/// @param colour  of the frames.
[[nodiscard]] std::vector<spectrum::RatioRing> compare_with_frames(
    const Accumulator& stacks, FrameBatch& batch, const Candidates& candidates, std::size_t kept,
    double object, capture::Colour colour, const Progress& progress);

}  // namespace lull::stack
