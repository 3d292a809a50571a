#include "run/profile_options.h"

#include <array>

#include "core/choices.h"
#include "profile/find_profile.h"
#include "run/plan_settings.h"
#include "run/stack_request.h"

namespace lull::run {

namespace {

using profile::OptionSetting;
using profile::Profile;

// What a profile may give: what a recipe holds, but for the capture.
std::vector<std::string> known_names() {
  std::vector<std::string> names;
  for (const auto& option : stack_options()) {
    if (option.facts.in_recipe != InRecipe::no && !option.facts.by_place())
      names.push_back(option.facts.name.substr(2));
  }
  return names;
}

// Each of them has a meaning with the others alone.
constexpr std::array<const char*, 3> kOptics = {"--aperture", "--focal-length", "--pixel"};

bool has(const std::vector<OptionSetting>& settings, const std::string& name) {
  return std::any_of(settings.begin(), settings.end(),
                     [&](const OptionSetting& one) { return one.name == name; });
}

void add_number(std::vector<OptionSetting>& settings, const char* name, double value) {
  settings.push_back({name, {fmt::format("{}", value)}, 0});
}

void add_instrument(std::vector<OptionSetting>& settings, const Profile& profile) {
  if (profile.optics) {
    add_number(settings, "--aperture", profile.optics->aperture_mm);
    add_number(settings, "--focal-length", profile.optics->focal_length_mm);
  }
  if (profile.camera) {
    add_number(settings, "--pixel", profile.camera->pixel_um);
    if (!profile.camera->mosaic.empty()) settings.push_back({"--cfa", {profile.camera->mosaic}, 0});
  }
}

void add_filter(std::vector<OptionSetting>& settings, const Profile& profile,
                const std::string& name) {
  if (name.empty() || profile.filters.empty()) return;
  if (const profile::Filter* filter = profile.filter(name))
    return add_number(settings, "--wavelength", filter->wavelength_nm);
  std::vector<std::string> known;
  for (const profile::Filter& filter : profile.filters) known.push_back(filter.name);
  throw UsageError(fmt::format("--filter {}: {} has no such filter; it has {}.{}", name,
                               profile.path, listed(known), did_you_mean(name, known)));
}

void drop_incomplete_optics(std::vector<OptionSetting>& settings,
                            const std::vector<std::string>& given) {
  const bool complete = std::all_of(kOptics.begin(), kOptics.end(), [&](const char* name) {
    return has(settings, name) || std::find(given.begin(), given.end(), name) != given.end();
  });
  if (complete) return;
  std::erase_if(settings, [](const OptionSetting& one) {
    return one.name == "--wavelength" ||
           std::find(kOptics.begin(), kOptics.end(), one.name) != kOptics.end();
  });
}

}  // namespace

std::vector<OptionSetting> profile_settings(const Profile& profile, const Asked& asked) {
  std::vector<OptionSetting> settings;
  add_instrument(settings, profile);
  add_filter(settings, profile, asked.filter);
  for (OptionSetting& setting : plan_settings(profile)) settings.push_back(std::move(setting));
  const std::string target =
      asked.object == Object::unspecified ? "all" : word_of_value(asked.object, object_words());
  for (const OptionSetting& setting : profile.options_for(target)) settings.push_back(setting);
  drop_incomplete_optics(settings, asked.given);
  return settings;
}

void check_profile_options(const Profile& profile) {
  const std::vector<std::string> known = known_names();
  const auto fail = [&](int line, const std::string& what) {
    throw InputError(fmt::format("{}:{}: {}", profile.path, line, what));
  };
  StackRequest scratch;
  for (const profile::TargetOptions& target : profile.options) {
    for (const OptionSetting& setting : target.options) {
      const std::string key = setting.name.substr(2);
      if (std::find(known.begin(), known.end(), key) == known.end()) {
        fail(setting.line,
             fmt::format("[options.{}]: unknown option '{}'.{} 'lull stack --help' lists them",
                         target.target, key, did_you_mean(key, known)));
      }
      try {
        const auto& option = option_named(stack_options(), setting.name);
        if (setting.values.size() != 1 && !option.facts.takes_many())
          throw UsageError(setting.name + " takes one value");
        set_all(option, scratch, setting.values);
      } catch (const UsageError& error) {
        fail(setting.line, fmt::format("[options.{}]: {}", target.target, error.what()));
      }
    }
  }
  if (profile.camera && !profile.camera->mosaic.empty()) {
    try {
      option_named(stack_options(), "--cfa").set(scratch, profile.camera->mosaic);
    } catch (const UsageError& error) {
      throw InputError(fmt::format("{}: [camera]: mosaic: {}", profile.path, error.what()));
    }
  }
}

Profile load_profile(const std::string& wanted) {
  Profile profile = profile::read_profile(profile::find_profile(wanted));
  check_profile_options(profile);
  return profile;
}

}  // namespace lull::run
