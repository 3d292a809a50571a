#pragma once

#include <cstdint>
#include <string>

#include "run/capture_input.h"

namespace lull::run {

/// What `lull rank` is asked for.
struct RankRequest {
  CaptureInput input;
  std::string csv;         ///< file for the table, empty = none
  std::string best_first;  ///< file for the video in order of sharpness, empty = none
  std::int64_t count = 0;  ///< only so many frames in the video, 0 = all
};

[[nodiscard]] const OptionTable<RankRequest>& rank_options();

}  // namespace lull::run
