#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <string>
#include <vector>

#include "core/error.h"
#include "profile/profile.h"
#include "run/object.h"
#include "run/option.h"

namespace lull::run {

/// The profile that --profile means, its options checked as those of the command line.
/// @throws UsageError: no profile of that name; InputError with file and line.
[[nodiscard]] profile::Profile load_profile(const std::string& wanted);

/// Checks every option of a profile. @throws InputError with file and line.
void check_profile_options(const profile::Profile& profile);

/// What a run asks for, as far as its profile goes by it.
struct Asked {
  Object object = Object::unspecified;
  std::string filter{};
  std::vector<std::string> given{};  ///< names of options that are given besides
};

/// The options that a profile gives a run, later ones win.
/// @throws UsageError: a filter that the profile does not list.
[[nodiscard]] std::vector<profile::OptionSetting> profile_settings(const profile::Profile& profile,
                                                                   const Asked& asked);

/// What the options of a request ask for. The names of its captures tell the object where
/// --object does not.
template <class Request>
[[nodiscard]] Asked asked_in(const OptionTable<Request>& table, const Request& request) {
  Asked asked;
  std::string object;
  std::vector<std::string> captures;
  for (const Option<Request>& option : table) {
    if (!is_given(option, request)) continue;
    asked.given.push_back(option.facts.name);
    if (option.facts.name == "--object") object = option_text(option.get(request));
    if (option.facts.name == "--filter") asked.filter = option_text(option.get(request));
    if (option.facts.name == "capture") captures = option_texts(option.get(request));
  }
  asked.object = object.empty() ? object_in_names(captures)
                                : value_of_word("--object", object, object_words());
  return asked;
}

/// Sets what the profile knows of a run. Options that this table lacks are passed over.
/// @param asked  the request as the command line alone gives it.
/// @throws UsageError, InputError.
template <class Request>
void apply_profile(const profile::Profile& profile, const OptionTable<Request>& table,
                   const Request& asked, Request& request) {
  for (const profile::OptionSetting& setting : profile_settings(profile, asked_in(table, asked))) {
    const auto option = std::find_if(table.begin(), table.end(), [&](const auto& one) {
      return one.facts.name == setting.name;
    });
    if (option == table.end()) continue;
    try {
      set_all(*option, request, setting.values);
    } catch (const UsageError& error) {
      throw InputError(fmt::format("{}: {}", profile.path, error.what()));
    }
  }
}

}  // namespace lull::run
