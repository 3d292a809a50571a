#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/choices.h"
#include "app/commands.h"
#include "app/master_file.h"
#include "calibrate/defects.h"
#include "calibrate/joined_capture.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/picture_file.h"

namespace lull::app {

namespace {

using calibrate::MasterKind;
using calibrate::PairNoise;
using calibrate::PhotonTransfer;

/// What `lull master` tells beside the file that it writes.
struct MasterFigures {
  double level_part = 0;  ///< median over the range from black to saturation
  double saturated_part = 0;
  std::optional<PhotonTransfer> transfer;
  std::vector<std::string> notes;
};

// All bounds: common practice, no source.
constexpr double kSaturatedPart = 0.98;
constexpr double kManySaturated = 0.001;
constexpr double kDimPart = 0.1;
constexpr double kBrightDarkPart = 0.25;
constexpr std::int64_t kFewFrames = 20;

[[nodiscard]] MasterKind parse_kind(const std::string& name) {
  if (name == "dark") return MasterKind::dark;
  if (name == "flat") return MasterKind::flat;
  throw no_such_choice("--kind", name, {"dark", "flat"});
}

void check_options(const MasterCommandOptions& options, MasterKind kind,
                   const std::vector<std::string>& files) {
  if (files::format_of(options.output) != files::Format::fits) {
    throw UsageError(fmt::format(
        "{}: a master holds fractions of the camera's units, so it is written as FITS. Give it a "
        "name that ends in .fits",
        options.output));
  }
  if (kind == MasterKind::dark && !options.flat_dark.empty()) {
    throw UsageError(
        "--flat-dark: a dark has no flat dark. Leave it out, or say --kind flat if the frames "
        "show an even light.");
  }
  std::vector<std::string> inputs = files;
  if (!options.flat_dark.empty()) {
    const auto darks = calibrate::calibration_files(options.flat_dark);
    inputs.insert(inputs.end(), darks.begin(), darks.end());
  }
  for (const std::string& input : inputs) {
    std::error_code ignored;
    if (std::filesystem::equivalent(input, options.output, ignored)) {
      throw UsageError(
          fmt::format("{}: this is an input of the run and would be overwritten; choose another "
                      "name, in another folder",
                      options.output));
    }
  }
  files::check_writable(options.output);
}

[[nodiscard]] double part_from(const calibrate::Master& master, double level) {
  std::int64_t count = 0;
  std::int64_t samples = 0;
  for (const Plane& plane : master.planes) {
    for (int y = 0; y < plane.height(); ++y) {
      count += std::count_if(plane.row(y), plane.row(y) + plane.width(),
                             [level](float value) { return static_cast<double>(value) >= level; });
    }
    samples += plane.size().area_px();
  }
  return static_cast<double>(count) / static_cast<double>(samples);
}

/// Of the frames as they are stored, before any dark is taken off.
[[nodiscard]] MasterFigures figures_of(const calibrate::Master& master, MasterKind kind) {
  const capture::CaptureInfo& info = master.source;
  MasterFigures figures;
  const double median = calibrate::robust_level(master.planes.front().view()).median;
  figures.level_part = (median - info.scale.black) / (info.full_scale - info.scale.black);
  figures.saturated_part = part_from(master, kSaturatedPart * info.full_scale);
  const std::string part = fmt::format("{:.0f} % of full scale", 100 * figures.level_part);
  if (kind == MasterKind::dark && figures.level_part > kBrightDarkPart) {
    figures.notes.push_back(
        fmt::format("the dark is bright ({}). Was the telescope covered?", part));
  }
  if (kind == MasterKind::flat && figures.level_part < kDimPart) {
    figures.notes.push_back(fmt::format(
        "the flat is dim ({}), so its noise harms. Record one of about half of full scale", part));
  }
  if (kind == MasterKind::flat && figures.saturated_part > kManySaturated) {
    figures.notes.push_back(
        fmt::format("{:.1f} % of the flat is saturated, and wrong there. Record one of half the "
                    "brightness",
                    100 * figures.saturated_part));
  }
  if (master.frames < kFewFrames) {
    figures.notes.push_back(fmt::format(
        "{} frames only: their noise goes into every calibrated frame alike. Record {} or more",
        master.frames, kFewFrames));
  }
  if (master.damaged > 0) {
    figures.notes.push_back(fmt::format("{} damaged frames are left out", master.damaged));
  }
  return figures;
}

[[nodiscard]] std::string history_of(const MasterCommandOptions& options,
                                     const calibrate::Master& master) {
  std::string text = fmt::format(
      "Mean of {} frames, each pixel for itself, without samples beyond 4 sigma of its trimmed "
      "mean.\n",
      master.frames);
  for (const std::string& input : options.inputs) {
    text += fmt::format("From {}\n", std::filesystem::path(input).filename().string());
  }
  if (!options.flat_dark.empty()) {
    text += fmt::format("Less the dark of the flat, {}\n",
                        std::filesystem::path(options.flat_dark).filename().string());
  }
  return text;
}

/// The dark of a flat, with the noise of its frames: from a master's header, or measured.
[[nodiscard]] KeptMaster load_dark(const std::string& path, const Progress& progress) {
  KeptMaster dark = load_master(path, MasterKind::flat_dark, progress);
  if (!dark.noise && dark.master.source.codec != "fits") {
    const auto source = calibrate::open_joined(calibrate::calibration_files(path), {});
    dark.noise = calibrate::pair_noise(*source, progress);
  }
  return dark;
}

[[nodiscard]] double sensor_unit(const capture::CaptureInfo& info) {
  return info.high_aligned ? std::exp2(info.stored_bits - info.true_bits) : 1;
}

void subtract_flat_dark(const MasterCommandOptions& options, KeptMaster& flat,
                        MasterFigures& figures, const Progress& progress) {
  if (options.flat_dark.empty()) {
    figures.notes.push_back(
        "no flat dark is given: gain and read noise cannot be told, and the dark or the black "
        "level is taken off when the flat is used");
    return;
  }
  const KeptMaster dark = load_dark(options.flat_dark, progress);
  const double level = calibrate::robust_level(dark.master.planes.front().view()).median /
                       sensor_unit(dark.master.source);
  auto notes = calibrate::subtract_dark(flat.master, dark.master);
  figures.notes.insert(figures.notes.end(), notes.begin(), notes.end());
  const double left = calibrate::robust_level(flat.master.planes.front().view()).median;
  if (left <= 0) {
    throw InputError(
        fmt::format("{}: the flat is not brighter than its dark {} ({:.1f} stored units on the "
                    "median). Check that the files are not exchanged, or record the flat of a "
                    "bright even surface.",
                    options.inputs.front(), options.flat_dark, left));
  }
  if (flat.noise) figures.transfer = calibrate::photon_transfer(*flat.noise, dark.noise, level);
  if (!figures.transfer) {
    figures.notes.push_back(
        "gain and read noise cannot be told: that takes at least two flats, not saturated");
  }
}

void print_text(const MasterCommandOptions& options, const KeptMaster& kept,
                const MasterFigures& figures) {
  const capture::CaptureInfo& info = kept.master.source;
  fmt::print("{}: {} of {} frames of {} x {} px, {:.1f} % of full scale\n", options.output,
             options.kind, kept.master.frames, info.size.width_px, info.size.height_px,
             100 * figures.level_part);
  if (kept.noise) {
    fmt::print("noise of one frame: {:.2f} ADU\n", std::sqrt(kept.noise->variance_adu2));
  }
  if (figures.transfer) {
    fmt::print("gain: {:.3f} +- {:.3f} e-/ADU; read noise: {}\n", figures.transfer->gain_e_per_adu,
               figures.transfer->gain_sigma,
               figures.transfer->read_noise_e
                   ? fmt::format("{:.2f} e-", *figures.transfer->read_noise_e)
                   : std::string("hidden under the steps of the samples, or not known"));
  }
  for (const std::string& note : figures.notes) fmt::print("note: {}\n", note);
}

void print_json(const MasterCommandOptions& options, const KeptMaster& kept,
                const MasterFigures& figures) {
  const capture::CaptureInfo& info = kept.master.source;
  nlohmann::json json = {{"master", options.output},
                         {"kind", options.kind},
                         {"frames", kept.master.frames},
                         {"damaged", kept.master.damaged},
                         {"width_px", info.size.width_px},
                         {"height_px", info.size.height_px},
                         {"colour", capture::colour_name(info.colour)},
                         {"cfa", capture::cfa_name(info.cfa)},
                         {"true_bits", info.true_bits},
                         {"level", figures.level_part},
                         {"saturated", figures.saturated_part},
                         {"dark_subtracted", kept.master.dark_subtracted},
                         {"notes", figures.notes}};
  if (kept.noise) json["noise_adu"] = std::sqrt(kept.noise->variance_adu2);
  if (figures.transfer) {
    json["gain_e_per_adu"] = figures.transfer->gain_e_per_adu;
    json["gain_sigma"] = figures.transfer->gain_sigma;
    if (figures.transfer->read_noise_e) json["read_noise_e"] = *figures.transfer->read_noise_e;
  }
  fmt::print("{}\n", json.dump(1));
}

}  // namespace

void master(const MasterCommandOptions& options, const Progress& progress) {
  const MasterKind kind = parse_kind(options.kind);
  std::vector<std::string> files;
  for (const std::string& input : options.inputs) {
    const auto found = calibrate::calibration_files(input);
    files.insert(files.end(), found.begin(), found.end());
  }
  check_options(options, kind, files);
  const auto source = calibrate::open_joined(files, {.decoder_threads = options.threads});
  KeptMaster kept;
  kept.master = calibrate::average(*source, progress);
  kept.noise = calibrate::pair_noise(*source, progress);
  MasterFigures figures = figures_of(kept.master, kind);
  if (kind == MasterKind::flat) subtract_flat_dark(options, kept, figures, progress);
  write_master(options.output, kept, kind, history_of(options, kept.master));
  if (options.json) {
    print_json(options, kept, figures);
  } else {
    print_text(options, kept, figures);
  }
}

}  // namespace lull::app
