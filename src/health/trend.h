#pragma once

#include <optional>
#include <vector>

#include "quality/ranking.h"

namespace lull::health {

/// How sharpness changed over the capture, and how much it scatters.
struct Trend {
  double change = 0;      ///< from the first to the last frame, relative: -0.2 = a fifth is lost
  double change_low = 0;  ///< bounds of 95% confidence
  double change_high = 0;
  bool significant = false;      ///< the bounds exclude 0
  double best_over_median = 0;   ///< sharpness of the best frame over the median of all
  double tenth_over_median = 0;  ///< mean of the best tenth over the median of all
};

/// A robust line through the logarithm of the sharpness, averaged over up to 24 equal parts of the
/// capture: what the air does within a moment is then averaged out.
/// None: fewer than 48 usable frames, or sharpness lost in the noise (not above 0) in more than one
/// frame in ten.
[[nodiscard]] std::optional<Trend> trend_of(const std::vector<quality::FrameRecord>& records);

}  // namespace lull::health
