#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "quality/ranking.h"

namespace lull::run {

/// What one of several captures gave to a stack.
struct CaptureShare {
  std::string capture{};
  std::size_t frames = 0;
  std::size_t usable = 0;
  std::size_t kept = 0;
  double of_stack = 0;  ///< its part of all kept frames
};

/// @param beginnings  first frames of the captures, those that were read. @param kept  frames.
/// @return empty for one capture.
[[nodiscard]] std::vector<CaptureShare> capture_shares(
    const std::vector<std::string>& captures, const std::vector<FrameIndex>& beginnings,
    const std::vector<quality::FrameRecord>& records, const std::vector<FrameIndex>& kept);

[[nodiscard]] nlohmann::json to_json(const std::vector<CaptureShare>& shares);

/// "34% of the stack, of 300 usable frames, 310 in the capture"
[[nodiscard]] std::string share_text(const CaptureShare& share);

}  // namespace lull::run
