#pragma once

#include <optional>
#include <vector>

#include "quality/ranking.h"

namespace lull::health {

/// A change for good, from one moment to the next.
struct Step {
  FrameIndex from = 0;  ///< first frame with the new level, within 1/64 of the capture
  double change = 0;    ///< relative: -0.2 = a fifth is lost
};

/// How steady the light and the sharpness are over a capture.
struct Steadiness {
  std::optional<Step> light;      ///< exposure, gain or filter were changed
  std::optional<Step> sharpness;  ///< the focus was moved
  double light_spread = 0;        ///< relative range of the brightness, on both sides of a step
};

/// Medians over up to 64 equal parts of the capture are compared: what air and clouds do within a
/// moment is then averaged out. The capture is cut in two where the absolute deviations from the
/// medians of both parts are smallest. The cut is a step if the parts differ by at least a tenth of
/// the higher level (sharpness: a quarter) and five times (sharpness: three times) the scatter on
/// either side, and most of the difference is between neighbouring moments. Bounds are common
/// practice, no source. None: fewer than 48 usable frames.
[[nodiscard]] std::optional<Steadiness> steadiness_of(
    const std::vector<quality::FrameRecord>& records);

}  // namespace lull::health
