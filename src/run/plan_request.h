#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "run/instrument.h"
#include "run/option.h"
#include "run/plan_values.h"

namespace lull::run {

enum class PlannedTargets { one, all };

/// Whether frames are laid over the disc.
enum class PanelChoice { no, yes };

/// What `lull plan` is asked for.
struct PlanRequest {
  std::string target;  ///< a word for a body
  PlannedTargets targets = PlannedTargets::one;
  std::optional<sky::Site> site{};
  std::string date;  ///< "2026-11-30"; empty: the night that is now, or comes next
  std::string zone;
  Instrument instrument;
  std::vector<NamedBand> bands{};  ///< empty: default_bands()
  std::vector<Storm> storms{};
  double signal_to_noise = 200;
  PanelChoice panels = PanelChoice::no;
  double overlap_percent = 25;   ///< of the side of a frame: common practice, no source
  double north_deg = 0;          ///< in the picture, clockwise from the top
  std::optional<Size> sensor{};  ///< of the camera
  std::string plot;              ///< SVG file, empty = none
};

[[nodiscard]] const OptionTable<PlanRequest>& plan_options();

/// The bodies that a request means. @throws UsageError: none or both of a target and --tonight are
/// given, or the word is not known.
[[nodiscard]] std::vector<sky::Body> planned_bodies(const PlanRequest& request);

}  // namespace lull::run
