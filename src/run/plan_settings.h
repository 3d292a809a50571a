#pragma once

#include <vector>

#include "profile/profile.h"

namespace lull::run {

/// What a profile gives `lull plan` besides the optics: --site, --zone, --sensor, --band for each
/// filter whose width it states, and --storm.
[[nodiscard]] std::vector<profile::OptionSetting> plan_settings(const profile::Profile& profile);

}  // namespace lull::run
