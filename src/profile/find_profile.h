#pragma once

#include <string>
#include <vector>

namespace lull::profile {

/// The folder of the profiles that have a name: $XDG_CONFIG_HOME/lull/profiles, or that below
/// ~/.config (XDG Base Directory Specification 0.8). Empty where neither is set.
[[nodiscard]] std::string profile_folder();

/// The file that --profile means: a path where it has a '/' or ends in .toml, else a name.
/// @throws UsageError for a name that the folder does not have, with those that it has.
[[nodiscard]] std::string find_profile(const std::string& wanted);

}  // namespace lull::profile
