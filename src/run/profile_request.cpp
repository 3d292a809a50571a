#include "run/profile_request.h"

#include "core/error.h"
#include "files/name_text.h"
#include "run/object.h"
#include "run/option_kinds.h"
#include "run/profile_options.h"

namespace lull::run {

namespace {

using nlohmann::json;

OptionTable<ProfileRequest> make_options() {
  OptionTable<ProfileRequest> table;
  table.push_back(word_option<ProfileRequest>(
      {.name = "action",
       .value = "check|example",
       .group = OptionGroup::input,
       .help = "check: read a profile and show it; example: print one to begin with"},
      &ProfileRequest::action,
      Words<ProfileAction>{{ProfileAction::check, "check"}, {ProfileAction::example, "example"}}));
  table.push_back(
      file_option<ProfileRequest>({.name = "profile",
                                   .value = "FILE",
                                   .group = OptionGroup::input,
                                   .help = "The profile to check: its file or its name"},
                                  &ProfileRequest::file));
  return table;
}

template <class Value>
json known(const std::optional<Value>& value) {
  return value ? json(*value) : json();
}

json text_or_null(const std::string& text) { return text.empty() ? json() : json(text); }

json camera_json(const profile::Camera& camera) {
  return {
      {"name", text_or_null(camera.name)},         {"pixel_um", camera.pixel_um},
      {"width_px", known(camera.width_px)},        {"height_px", known(camera.height_px)},
      {"mosaic", text_or_null(camera.mosaic)},     {"gain_e_per_adu", known(camera.gain_e_per_adu)},
      {"read_noise_e", known(camera.read_noise_e)}};
}

json filters_json(const profile::Profile& profile) {
  json out = json::object();
  for (const profile::Filter& filter : profile.filters) {
    out[filter.name] = {{"wavelength_nm", filter.wavelength_nm},
                        {"band_nm", known(filter.band_nm)},
                        {"words", filter.words}};
  }
  return out;
}

json storms_json(const profile::Profile& profile) {
  json out = json::array();
  for (const profile::Storm& storm : profile.storms) {
    out.push_back({{"object", storm.object},
                   {"name", storm.name},
                   {"system", storm.system},
                   {"longitude_deg", storm.longitude_deg},
                   {"date", text_or_null(storm.date)},
                   {"drift_deg_per_day", storm.drift_deg_per_day}});
  }
  return out;
}

json options_json(const profile::Profile& profile) {
  json out = json::object();
  for (const profile::TargetOptions& target : profile.options) {
    json& options = out[target.target] = json::object();
    for (const profile::OptionSetting& one : target.options) {
      options[one.name] = one.values.size() == 1 ? json(one.values.front()) : json(one.values);
    }
  }
  return out;
}

}  // namespace

const OptionTable<ProfileRequest>& profile_options() {
  static const OptionTable<ProfileRequest> table = make_options();
  return table;
}

profile::Profile checked_profile(const ProfileRequest& request) {
  if (request.file.empty())
    throw UsageError("profile check: name the profile, such as: lull profile check ridge.toml");
  return load_profile(request.file);
}

json to_json(const profile::Profile& profile) {
  json out = {{"profile", files::name_text(profile.path)},
              {"name", profile.name},
              {"filters", filters_json(profile)},
              {"storms", storms_json(profile)},
              {"options", options_json(profile)},
              {"darks", files::name_texts(profile.darks)},
              {"flats", files::name_texts(profile.flats)},
              {"scale_arcsec_per_px", known(profile::scale_arcsec_per_px(profile))},
              {"caution", text_or_null(caution_of(profile))}};
  out["optics"] = nullptr;
  if (profile.optics) {
    out["optics"] = {{"aperture_mm", profile.optics->aperture_mm},
                     {"obstruction", profile.optics->obstruction},
                     {"focal_length_mm", profile.optics->focal_length_mm}};
  }
  out["camera"] = profile.camera ? camera_json(*profile.camera) : json();
  out["site"] = nullptr;
  if (profile.site) {
    out["site"] = {{"name", text_or_null(profile.site->name)},
                   {"latitude_deg", profile.site->latitude_deg},
                   {"longitude_deg", profile.site->longitude_deg},
                   {"height_m", profile.site->height_m},
                   {"time_zone", text_or_null(profile.site->time_zone)}};
  }
  return out;
}

std::string caution_of(const profile::Profile& profile) {
  for (const profile::TargetOptions& target : profile.options) {
    if (target.target == "sun") return sun_caution(Object::sun, {}, health::Kind::field);
  }
  return {};
}

}  // namespace lull::run
