#include "profile/find_profile.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "core/choices.h"
#include "core/error.h"

namespace lull::profile {

namespace {

namespace fs = std::filesystem;

std::string variable(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string() : value;
}

}  // namespace

std::string profile_folder() {
  // A relative path there is not valid, by the specification.
  std::string base = variable("XDG_CONFIG_HOME");
  if (base.empty() || base.front() != '/') {
    const std::string home = variable("HOME");
    if (home.empty()) return {};
    base = home + "/.config";
  }
  return base + "/lull/profiles";
}

std::vector<NamedProfile> named_profiles() {
  std::vector<NamedProfile> found;
  const std::string folder = profile_folder();
  if (folder.empty()) return found;
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    if (entry->path().extension() == kProfileEnding)
      found.push_back({entry->path().stem().string(), entry->path().string()});
  }
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.name < b.name; });
  return found;
}

std::string find_profile(const std::string& wanted) {
  if (wanted.find('/') != std::string::npos || wanted.ends_with(kProfileEnding)) return wanted;
  const std::string folder = profile_folder();
  std::string path = (fs::path(folder) / (wanted + kProfileEnding)).string();
  std::error_code ignored;
  if (!folder.empty() && fs::exists(path, ignored)) return path;
  std::vector<std::string> names;
  for (const NamedProfile& named : named_profiles()) names.push_back(named.name);
  std::string has = "there are none yet; 'lull profile example' prints one to begin with";
  if (!names.empty())
    has = fmt::format("there are {}.{}", listed(names), did_you_mean(wanted, names));
  throw UsageError(fmt::format("--profile {}: no such profile in {}; {}", wanted,
                               folder.empty() ? "~/.config/lull/profiles" : folder, has));
}

}  // namespace lull::profile
