#pragma once

#include <string>
#include <vector>

#include "lab/parameters.h"

namespace lull::lab {

/// A capture that the lab can make by name.
struct Preset {
  std::string name;
  std::string about;
  Parameters parameters;
};

/// Targets of an invented hilltop observatory, each under good, fair and poor air, and odd worlds.
[[nodiscard]] const std::vector<Preset>& presets();

/// @throws UsageError naming the nearest.
[[nodiscard]] const Preset& preset(const std::string& name);

}  // namespace lull::lab
