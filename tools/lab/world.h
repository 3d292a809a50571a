#pragma once

#include <functional>
#include <string>
#include <vector>

#include "lab/presets.h"

namespace lull::lab {

/// One of a family of presets: a capture of a kind, and what is special about it.
struct World {
  const char* name;
  const char* about;
  Parameters parameters;
  std::function<void(Parameters&)> change;
};

/// Presets "family-name". @param about  what all of them are.
[[nodiscard]] std::vector<Preset> presets_of(const std::string& family, const std::string& about,
                                             const std::vector<World>& worlds);

}  // namespace lull::lab
