#pragma once

#include <vector>

#include "quality/target.h"
#include "stack/accumulator.h"
#include "stack/frame_batch.h"
#include "stack/spectral_ratio.h"

namespace lull::stack {

/// Compares some of the kept frames, from the best to the worst, with their stack.
/// @param kept  frames in it. @param target  the noise of frames is that of its lit part.
/// @param colour  of the frames.
[[nodiscard]] std::vector<spectrum::RatioRing> compare_with_kept(
    const Accumulator& stacks, FrameBatch& batch, const Candidates& candidates, std::size_t kept,
    const quality::Target& target, capture::Colour colour, const Progress& progress);

/// The same. Those of a field are followed by usable frames that are taken evenly over
/// the capture: no choice has made these agree more.
[[nodiscard]] std::vector<spectrum::RatioRing> compare_with_frames(
    const Accumulator& stacks, FrameBatch& batch, const Candidates& candidates, std::size_t kept,
    const quality::Target& target, capture::Colour colour, const Progress& progress);

}  // namespace lull::stack
