#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "profile/profile.h"
#include "run/option.h"

namespace lull::run {

enum class ProfileAction { check, example };

/// What `lull profile` is asked for.
struct ProfileRequest {
  ProfileAction action = ProfileAction::check;
  std::string file;  ///< path or name of a profile
};

[[nodiscard]] const OptionTable<ProfileRequest>& profile_options();

/// The profile of a request to check one. @throws UsageError, InputError.
[[nodiscard]] profile::Profile checked_profile(const ProfileRequest& request);

/// All that a profile holds; what it does not state is null.
[[nodiscard]] nlohmann::json to_json(const profile::Profile& profile);

/// The caution that a profile with options for the Sun is due; empty: none.
[[nodiscard]] std::string caution_of(const profile::Profile& profile);

}  // namespace lull::run
