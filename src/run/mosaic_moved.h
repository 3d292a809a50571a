#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "mosaic/moved_light.h"
#include "mosaic/tie.h"
#include "run/panel_input.h"

namespace lull::run {

/// Time between two panels, as their stacks state it (DATE-AVG); none where one does not.
[[nodiscard]] std::optional<double> minutes_apart(const PanelInput& one, const PanelInput& other);

/// Links between panels whose shadows may have moved: all but those that are known to be less than
/// five minutes apart, in which the terminator moves by 0.04 degrees. There, blur alone differs.
[[nodiscard]] std::vector<mosaic::Link> links_over_time(const std::vector<PanelInput>& panels,
                                                        const std::vector<mosaic::Link>& links);

/// "95 minutes", "2.5 hours", "3 days".
[[nodiscard]] std::string span_text(double minutes);

/// Where light moved between panels, in words; the overlaps that changed most first.
[[nodiscard]] std::vector<std::string> moved_notes(const std::vector<PanelInput>& panels,
                                                   const mosaic::MovedLight& moved);

/// The same for the recipe and --json.
[[nodiscard]] nlohmann::json moved_json(const std::vector<PanelInput>& panels,
                                        const mosaic::MovedLight& moved);

}  // namespace lull::run
