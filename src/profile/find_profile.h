#pragma once

#include <string>
#include <vector>

namespace lull::profile {

/// The folder of the profiles that have a name: $XDG_CONFIG_HOME/lull/profiles, or that below
/// ~/.config (XDG Base Directory Specification 0.8). Empty where neither is set.
[[nodiscard]] std::string profile_folder();

inline constexpr const char* kProfileEnding = ".toml";

struct NamedProfile {
  std::string name;  ///< as --profile takes it
  std::string path;
};

/// The profiles of that folder, in order of their names.
[[nodiscard]] std::vector<NamedProfile> named_profiles();

/// The file that --profile means: a path where it has a '/' or ends in .toml, else a name.
/// @throws UsageError for a name that the folder does not have, with those that it has.
[[nodiscard]] std::string find_profile(const std::string& wanted);

}  // namespace lull::profile
