#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "night/plan.h"

namespace lull::night {

/// A plan as TOML, with its reasons as comments: for people to read, to edit, and to run.
[[nodiscard]] std::string plan_text(const Plan& plan);

[[nodiscard]] nlohmann::json to_json(const Plan& plan);

/// What plan_text() wrote, perhaps edited.
/// @throws InputError with file and line: an unknown key, a master or a part of a merge that is not
/// there, a capture that is missing, two pictures of one name.
[[nodiscard]] Plan read_plan(const std::string& path);

}  // namespace lull::night
