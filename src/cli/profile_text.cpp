#include <fmt/format.h>
#include <fmt/ranges.h>

#include <cmath>
#include <filesystem>
#include <system_error>

#include "cli/texts.h"

namespace lull::cli {

namespace {

using profile::Profile;

constexpr const char* kNoOptics =
    "optics: not stated; resolution is given in pixels alone. Give [optics] and the pixel of "
    "[camera]\n";

std::string optics_text(const Profile& profile) {
  std::string text;
  if (const auto& optics = profile.optics) {
    text += fmt::format("optics: aperture {:g} mm, focal length {:g} mm (f/{:.1f})",
                        optics->aperture_mm, optics->focal_length_mm,
                        optics->focal_length_mm / optics->aperture_mm);
    if (optics->obstruction > 0)
      text += fmt::format(", obstruction {:.0f}%", 100 * optics->obstruction);
    text += '\n';
  }
  if (const auto& camera = profile.camera) {
    text += fmt::format("camera: {}pixels of {:g} um",
                        camera->name.empty() ? "" : camera->name + ", ", camera->pixel_um);
    if (camera->width_px && camera->height_px)
      text += fmt::format(", {} x {} px", *camera->width_px, *camera->height_px);
    if (!camera->mosaic.empty()) text += ", mosaic " + camera->mosaic;
    if (camera->gain_e_per_adu) text += fmt::format(", {:g} e-/ADU", *camera->gain_e_per_adu);
    if (camera->read_noise_e) text += fmt::format(", read noise {:g} e-", *camera->read_noise_e);
    text += '\n';
  }
  if (const auto scale = profile::scale_arcsec_per_px(profile)) {
    text += fmt::format("scale: {:.4f} arcsec a pixel\n", *scale);
  } else {
    text += kNoOptics;
  }
  return text;
}

std::string site_text(const profile::Site& site) {
  return fmt::format("site: {}{:.4f} {}, {:.4f} {}, {:.0f} m{}\n",
                     site.name.empty() ? "" : site.name + ", ", std::abs(site.latitude_deg),
                     site.latitude_deg < 0 ? "south" : "north", std::abs(site.longitude_deg),
                     site.longitude_deg < 0 ? "west" : "east", site.height_m,
                     site.time_zone.empty() ? "" : ", time zone " + site.time_zone);
}

// A disk may be elsewhere for now, so that is no error.
std::string place_text(const char* what, const std::string& path) {
  std::error_code ignored;
  const bool is_there = std::filesystem::exists(path, ignored);
  return fmt::format("{}: {}{}\n", what, path, is_there ? "" : " (not there now)");
}

}  // namespace

std::string profile_text(const Profile& profile) {
  std::string text = fmt::format("{}: {}\n", profile.path, profile.name) + optics_text(profile);
  for (const profile::Filter& filter : profile.filters) {
    text += fmt::format("filter {}: {:g} nm", filter.name, filter.wavelength_nm);
    if (filter.band_nm) text += fmt::format(", band {:g} nm", *filter.band_nm);
    if (!filter.words.empty()) text += fmt::format("; also {}", fmt::join(filter.words, ", "));
    text += '\n';
  }
  if (profile.site) text += site_text(*profile.site);
  for (const std::string& path : profile.darks) text += place_text("darks", path);
  for (const std::string& path : profile.flats) text += place_text("flats", path);
  for (const profile::TargetOptions& target : profile.options) {
    text += fmt::format("options for {}:", target.target);
    for (const profile::OptionSetting& one : target.options)
      text += fmt::format(" {} {}", one.name, fmt::join(one.values, " "));
    text += '\n';
  }
  for (const profile::Storm& storm : profile.storms) {
    text += fmt::format("storm on {}: {}, longitude {:g}, system {}\n", storm.object, storm.name,
                        storm.longitude_deg, storm.system);
  }
  if (const std::string caution = run::caution_of(profile); !caution.empty())
    text += caution + "\n";
  return text;
}

}  // namespace lull::cli
