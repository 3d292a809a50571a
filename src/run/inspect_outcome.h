#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "health/findings.h"
#include "run/control.h"
#include "run/inspect_request.h"

namespace lull::run {

/// What `lull inspect` found.
struct InspectOutcome {
  capture::CaptureInfo info;
  health::Health health;
  std::optional<health::Optics> optics;
  std::vector<health::Finding> findings;
  std::string caution;  ///< for the Sun; empty = none is due
};

/// Everything; figures that are not known are null.
[[nodiscard]] nlohmann::json to_json(const InspectOutcome& outcome);

/// Levels, sharpness over time, path of the object and power spectrum, as SVG.
[[nodiscard]] std::string inspect_plot(const InspectOutcome& outcome);

/// Reads the capture once and writes the plot where one is asked for.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] InspectOutcome run_inspect(const InspectRequest& request, const RunControl& control);

}  // namespace lull::run
