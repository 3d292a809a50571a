#include "run/plan_settings.h"

#include <algorithm>

#include "run/plan_values.h"

namespace lull::run {

namespace {

using profile::OptionSetting;

// Jupiter alone has more than one system; a profile may leave that of others open.
sky::LongitudeSystem system_of_storm(const profile::Storm& storm, sky::Body body) {
  if (body != sky::Body::jupiter || storm.system == 3) return sky::LongitudeSystem::three;
  return storm.system == 1 ? sky::LongitudeSystem::one : sky::LongitudeSystem::two;
}

std::string storm_text(const profile::Storm& from, sky::Body body) {
  Storm storm{body, from.name, system_of_storm(from, body), from.longitude_deg, {}, 0};
  std::replace(storm.name.begin(), storm.name.end(), ':', ' ');  // it parts the option's values
  storm.seen = parse_iso8601(from.date);
  if (storm.seen) storm.drift_deg_per_day = from.drift_deg_per_day;
  return storm_option_text(storm);
}

}  // namespace

std::vector<OptionSetting> plan_settings(const profile::Profile& profile) {
  std::vector<OptionSetting> settings;
  if (profile.site) {
    const profile::Site& site = *profile.site;
    settings.push_back(
        {"--site",
         {site_option_text(sky::Site{site.latitude_deg, site.longitude_deg, site.height_m})},
         0});
    if (!site.time_zone.empty()) settings.push_back({"--zone", {site.time_zone}, 0});
  }
  const auto& camera = profile.camera;
  if (camera && camera->width_px && camera->height_px)
    settings.push_back(
        {"--sensor", {sensor_option_text(Size{*camera->width_px, *camera->height_px})}, 0});
  std::vector<std::string> bands;
  for (const profile::Filter& filter : profile.filters) {
    if (!filter.band_nm) continue;
    const double half = 0.5 * *filter.band_nm;
    bands.push_back(band_option_text(
        {filter.name, {filter.wavelength_nm - half, filter.wavelength_nm + half}}));
  }
  if (!bands.empty()) settings.push_back({"--band", std::move(bands), 0});
  std::vector<std::string> storms;
  for (const profile::Storm& storm : profile.storms) {
    for (const sky::Body body : sky::kBodies) {
      if (storm.object == sky::body_name(body)) storms.push_back(storm_text(storm, body));
    }
  }
  if (!storms.empty()) settings.push_back({"--storm", std::move(storms), 0});
  return settings;
}

}  // namespace lull::run
