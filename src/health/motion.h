#pragma once

#include <optional>
#include <vector>

#include "health/robust_line.h"
#include "quality/ranking.h"

namespace lull::health {

/// Smallest step from frame to frame of an object seen through air, px. Smaller steps belong to a
/// mark on the sensor (common practice, no source).
inline constexpr double kStillPx = 0.1;

/// Median step of the positions that tracking found, from one usable frame to the next, px; 0 for
/// fewer than two.
[[nodiscard]] double tracked_step_px(const std::vector<quality::FrameRecord>& records);

/// What the speed of a drift counts by.
enum class DriftUnit {
  px_per_s,
  px_per_frame,  ///< where the capture has no time
};

/// How the object moved over the frame.
struct Motion {
  RobustLine x;  ///< slope: speed, see unit
  RobustLine y;
  std::optional<double> jitter_px;  ///< movement from one frame to the next, root mean square
  double tracked_step_px = 0;       ///< see tracked_step_px()
  Displacement range;               ///< furthest apart that the object was found, px
  DriftUnit unit = DriftUnit::px_per_s;

  [[nodiscard]] double drift() const;  ///< speed of the drift alone
};

/// Drift by robust lines through the shifts of the usable frames (at most 400, spread evenly);
/// jitter from the median step, so that a few jumps do not count: the median of a step with
/// Gaussian components is 1.1774 standard deviations of one (Rayleigh distribution).
/// @param steps_px lengths of the movements from one frame to the next (Steps).
/// @param unit  px_per_s: every usable record has a time. None: fewer than 8 usable frames.
[[nodiscard]] std::optional<Motion> motion_of(const std::vector<quality::FrameRecord>& records,
                                              const std::vector<double>& steps_px, DriftUnit unit);

}  // namespace lull::health
