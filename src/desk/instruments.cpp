#include "desk/instruments.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <utility>

#include "desk/problem.h"
#include "files/name_text.h"
#include "profile/find_profile.h"
#include "run/profile_options.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using profile::Profile;

bool is_same_file(const std::string& a, const std::string& b) {
  std::error_code ignored;
  return fs::equivalent(a, b, ignored);
}

// Links are passed over: they may lead out of the folder.
std::vector<OfferedProfile> files_in(const std::string& folder) {
  std::vector<OfferedProfile> found;
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    std::error_code unreadable;
    const bool is_file = entry->symlink_status(unreadable).type() == fs::file_type::regular;
    if (is_file && entry->path().extension() == profile::kProfileEnding)
      found.push_back({files::name_text(entry->path().filename()), entry->path()});
  }
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.name < b.name; });
  return found;
}

}  // namespace

Instruments::Instruments(std::string folder, const std::string& wanted)
    : folder_(std::move(folder)), current_(std::make_shared<const Profile>()) {
  if (wanted.empty()) return;
  current_ = std::make_shared<const Profile>(run::load_profile(wanted));
  given_ = {files::name_text(wanted), current_->path};
  chosen_ = given_->name;
}

std::vector<OfferedProfile> Instruments::offered() const {
  std::vector<OfferedProfile> offered;
  if (given_) offered.push_back(*given_);
  const auto add = [&](OfferedProfile one) {
    if (!given_ || !is_same_file(one.path, given_->path)) offered.push_back(std::move(one));
  };
  for (const profile::NamedProfile& named : profile::named_profiles())
    add({files::name_text(named.name), named.path});
  for (OfferedProfile& file : files_in(folder_)) add(std::move(file));
  return offered;
}

std::shared_ptr<const Profile> Instruments::current() const {
  const std::lock_guard lock(guard_);
  return current_;
}

void Instruments::choose(const std::string& name) {
  auto chosen = std::make_shared<const Profile>();
  if (!name.empty()) {
    const std::vector<OfferedProfile> all = offered();
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const OfferedProfile& one) { return one.name == name; });
    if (found == all.end())
      throw Problem(404, fmt::format("there is no profile '{}'", name),
                    "GET /api/profiles lists them");
    chosen = std::make_shared<const Profile>(run::load_profile(found->path));
  }
  const std::lock_guard lock(guard_);
  chosen_ = name;
  current_ = std::move(chosen);
}

json Instruments::to_json() const {
  json names = json::array();
  for (const OfferedProfile& one : offered()) names.push_back(one.name);
  const std::lock_guard lock(guard_);
  return {{"profiles", std::move(names)},
          {"chosen", chosen_.empty() ? json() : json(chosen_)},
          {"title", current_->name.empty() ? json() : json(files::utf8_text(current_->name))}};
}

}  // namespace lull::desk
