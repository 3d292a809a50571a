#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "health/findings.h"

namespace lull::app {

/// What `lull inspect` tells.
struct InspectReport {
  capture::CaptureInfo info;
  health::Health health;
  std::optional<health::Optics> optics;
  std::vector<health::Finding> findings;
  std::string caution;  ///< for the Sun; empty = none is due
};

/// For people: figures, then findings, at most 100 columns wide.
[[nodiscard]] std::string inspect_text(const InspectReport& report);

/// Everything; figures that are not known are null.
[[nodiscard]] nlohmann::json inspect_json(const InspectReport& report);

/// Levels, sharpness over time, path of the object and power spectrum, as SVG.
[[nodiscard]] std::string inspect_plot(const InspectReport& report);

}  // namespace lull::app
