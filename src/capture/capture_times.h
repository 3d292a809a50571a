#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/utc.h"

namespace lull::capture {

/// What a file states about time.
struct CaptureTimes {
  double frames_per_s = 0;  ///< 0 = not known
  /// Frame::time_s is in the file, or follows from the rate.
  bool known = false;
  std::optional<Utc> begun{};            ///< when frame 0 was exposed
  std::vector<double> later_begins_s{};  ///< of several captures in one: times of the later ones
  std::string begun_source{};            ///< its source, such as "time stamps of the frames"
  std::string timecode{};                ///< of frame 0, hours:minutes:seconds:frames; empty = none
  double exposure_s = 0;                 ///< of a frame; 0 = not known

  /// When a frame of that Frame::time_s was exposed; none where the file does not state it.
  [[nodiscard]] std::optional<Utc> utc_at(double time_s) const;
};

}  // namespace lull::capture
