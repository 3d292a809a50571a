#pragma once

#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "health/health.h"
#include "health/optics.h"

namespace lull::health {

/// Something in a capture that hurts the result.
struct Finding {
  std::string name;  ///< for programs: "saturated"
  std::string what;  ///< with its figures, part of a sentence
  std::string next;  ///< what to do next time, part of a sentence
};

/// The most harmful first. Each rests on figures of `health` alone; where these are missing there
/// is no finding.
[[nodiscard]] std::vector<Finding> findings_of(const capture::CaptureInfo& info,
                                               const Health& health,
                                               const std::optional<Optics>& optics);

}  // namespace lull::health
