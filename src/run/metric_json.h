#pragma once

#include <nlohmann/json_fwd.hpp>

#include "survey/survey.h"

namespace lull::run {

/// Adds what ranked the frames: `metric`, the name of a measure or `auto`, and with the latter
/// `metric_shares`, what each of several measures counts.
void add_metric(const survey::Survey& survey, nlohmann::json& out);

}  // namespace lull::run
