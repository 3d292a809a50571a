#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "health/optics.h"
#include "run/opening.h"
#include "stack/stacker.h"

namespace lull::run {

/// What a stack measured, for the recipe and --json.
[[nodiscard]] nlohmann::json stack_figures(const Opened& opened, const survey::Survey& survey,
                                           const stack::StackResult& result,
                                           const std::optional<health::Optics>& optics);

}  // namespace lull::run
