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

constexpr const char* kEnding = ".toml";

std::string variable(const char* name) {
  const char* value = std::getenv(name);
  return value == nullptr ? std::string() : value;
}

std::vector<std::string> names_in(const std::string& folder) {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    if (entry->path().extension() == kEnding) names.push_back(entry->path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
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

std::string find_profile(const std::string& wanted) {
  if (wanted.find('/') != std::string::npos || wanted.ends_with(kEnding)) return wanted;
  const std::string folder = profile_folder();
  std::string path = (fs::path(folder) / (wanted + kEnding)).string();
  std::error_code ignored;
  if (!folder.empty() && fs::exists(path, ignored)) return path;
  const std::vector<std::string> names = names_in(folder);
  std::string has = "there are none yet; 'lull profile example' prints one to begin with";
  if (!names.empty())
    has = fmt::format("there are {}.{}", listed(names), did_you_mean(wanted, names));
  throw UsageError(fmt::format("--profile {}: no such profile in {}; {}", wanted,
                               folder.empty() ? "~/.config/lull/profiles" : folder, has));
}

}  // namespace lull::profile
