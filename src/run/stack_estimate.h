#pragma once

#include <optional>
#include <vector>

#include "capture/capture_info.h"
#include "run/stack_request.h"

namespace lull::run {

/// What a stack will take, before it is begun.
struct StackEstimate {
  std::optional<double> time_s;  ///< none where ranking was not timed
  double results_bytes = 0;      ///< of all files that are written
  double memory_bytes = 0;       ///< of the program, at most; it may use more where there is some
};

/// Bytes that stacking frames of this capture needs at most.
/// @throws UsageError for options that contradict each other.
[[nodiscard]] double memory_of_stack(const Stacking& stacking, const capture::CaptureInfo& info);

/// @param infos  of the captures, in the order of the request; not empty.
/// @param ranking_s  how long this machine took to rank them all; none: not known.
/// @throws UsageError for options that contradict each other.
[[nodiscard]] StackEstimate estimate_stack(const StackRequest& request,
                                           const std::vector<capture::CaptureInfo>& infos,
                                           std::optional<double> ranking_s);

}  // namespace lull::run
