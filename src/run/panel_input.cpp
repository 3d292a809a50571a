#include "run/panel_input.h"

#include <fmt/format.h>

#include <functional>
#include <string_view>
#include <utility>

#include "core/error.h"
#include "run/resolution.h"

namespace lull::run {

namespace {

mosaic::PanelPicture picture_of(FinishInput& input) {
  mosaic::PanelPicture out;
  for (std::size_t c = 0; c < input.picture.channels.size(); ++c) {
    out.push_back({std::move(input.picture.channels[c]),
                   input.has_halves ? std::move(input.measured.noise[c]) : Plane()});
  }
  return out;
}

std::size_t fingerprint_of(const mosaic::PanelPicture& picture) {
  std::size_t out = 0;
  const Plane& light = picture.front().light;
  for (int y = 0; y < light.height(); ++y) {
    const std::string_view bytes(reinterpret_cast<const char*>(light.row(y)),
                                 static_cast<std::size_t>(light.width()) * sizeof(float));
    out = out * 1099511628211U + std::hash<std::string_view>()(bytes);
  }
  return out;
}

const char* kind_of(const PanelInput& panel) {
  return panel.has_halves ? "a linear stack" : "a picture without half stacks";
}

const char* curve_of(const PanelInput& panel) {
  return panel.stretched ? "stretched" : "in linear light";
}

const char* colour_of(const PanelInput& panel) {
  return panel.channels == 1 ? "gray" : "in colour";
}

}  // namespace

ReadPanel read_panel_input(const std::string& path) {
  FinishInput input = read_finish_input(path);
  PanelInput out;
  out.path = path;
  out.cards = std::move(input.cards);
  out.ratio = std::move(input.measured.ratio);
  out.sampling = std::move(input.measured.sampling);
  if (const auto resolution = resolution_of(input.measured.frc, std::nullopt);
      resolution && input.has_halves)
    out.resolution_px = resolution->period_px;
  out.stretched = input.stretched;
  if (!input.has_halves) out.warnings = std::move(input.warnings);
  const mosaic::PanelPicture picture = picture_of(input);
  out.size = picture.front().light.size();
  out.channels = picture.size();
  out.has_halves = input.has_halves;
  out.fingerprint = fingerprint_of(picture);
  return {std::move(out), mosaic::sketch_of(picture)};
}

mosaic::PanelPicture read_panel(const PanelInput& panel) {
  FinishInput input = read_finish_input(panel.path);
  mosaic::PanelPicture picture = picture_of(input);
  if (picture.front().light.size() == panel.size && picture.size() == panel.channels &&
      fingerprint_of(picture) == panel.fingerprint)
    return picture;
  throw InputError(
      fmt::format("'{}' was changed while the mosaic was made: start again", panel.path));
}

void check_alike(const std::vector<PanelInput>& panels) {
  const PanelInput& first = panels.front();
  for (const PanelInput& panel : panels) {
    if (panel.has_halves != first.has_halves)
      throw InputError(fmt::format(
          "'{}' is {}, but '{}' is {}: their light cannot be brought together. Give the linear "
          "stacks (.linear.fits) of all panels, or finished pictures of all",
          first.path, kind_of(first), panel.path, kind_of(panel)));
    if (panel.channels != first.channels)
      throw InputError(
          fmt::format("'{}' is {}, but '{}' is {}: join panels in colour and in gray apart",
                      first.path, colour_of(first), panel.path, colour_of(panel)));
    if (panel.stretched != first.stretched)
      throw InputError(
          fmt::format("'{}' is {}, but '{}' is {}: their light cannot be brought together; give "
                      "the linear stacks of all panels, or pictures of one kind",
                      first.path, curve_of(first), panel.path, curve_of(panel)));
  }
}

}  // namespace lull::run
