#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "app/opening.h"
#include "health/optics.h"
#include "stack/stacker.h"

namespace lull::app {

/// What a stack measured, for the recipe and --json.
[[nodiscard]] nlohmann::json stack_figures(const Opened& opened, const survey::Survey& survey,
                                           const stack::StackResult& result,
                                           const std::optional<health::Optics>& optics);

}  // namespace lull::app
