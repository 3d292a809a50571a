#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "quality/ranking.h"

namespace lull::health {

/// Figures from the time stamps of the frames.
struct Timing {
  double interval_s = 0;            ///< typical time from one frame to the next
  double duration_s = 0;            ///< from the first to the last frame, one interval more
  std::int64_t gaps = 0;            ///< places where frames are missing
  std::int64_t missing_frames = 0;  ///< that would have fitted into the gaps
  double longest_gap_s = 0;         ///< time between the frames at its ends; 0 = no gap
  double longest_gap_at_s = 0;      ///< time at which it begins
  double unevenness = 0;  ///< 95% of the intervals outside gaps are within this share of interval_s
  bool too_coarse = false;  ///< stamps are too coarse against the interval for single frames
  bool backwards = false;   ///< a stamp is not later than the one before

  [[nodiscard]] double frames_per_s() const { return 1 / interval_s; }
};

/// Stamps may be rounded to 1 ms, as Matroska does by default (RFC 9559): a gap is seen where the
/// time from one frame to the next exceeds interval_s by more than half of it and by more
/// than 1 ms. Damaged frames have no stamp but took their time. None: no stamps, or fewer than 3.
/// @param later_begins_s  CaptureInfo::later_begins_s: the pauses before these are no gaps.
[[nodiscard]] std::optional<Timing> timing_of(const std::vector<quality::FrameRecord>& records,
                                              const std::vector<double>& later_begins_s = {});

}  // namespace lull::health
