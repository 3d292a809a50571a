#pragma once

#include <vector>

#include "core/samples.h"

namespace lull::quality {

/// Standard deviation of the white noise of a frame, in stored units. It follows from the response
/// to [1 -2 1] x [1 -2 1], which is beyond the band of an oversampled optical image (Immerkaer
/// 1996, Computer Vision and Image Understanding 64, 300). Here the median of magnitudes is used
/// instead of their mean, so that edges do not count. Samples a sixteenth of the rows, more
/// sparsely in large frames.
/// @param step 1, or 2 for a colour mosaic, where only every other pixel is of one colour.
/// @param floor_level only where the pixel is at least this bright (stored units).
/// @return 0 when there are not enough such pixels.
[[nodiscard]] double noise_sigma(SampleView samples, int step, double floor_level,
                                 std::vector<float>& scratch);

}  // namespace lull::quality
