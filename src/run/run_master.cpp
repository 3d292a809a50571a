#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <optional>

#include "calibrate/defects.h"
#include "calibrate/joined_capture.h"
#include "core/error.h"
#include "files/name_text.h"
#include "files/picture_file.h"
#include "files/results.h"
#include "run/master_outcome.h"
#include "run/memory_need.h"
#include "run/outputs.h"

namespace lull::run {

using calibrate::MasterKind;

namespace {

// All bounds: common practice, no source.
constexpr double kSaturatedPart = 0.98;
constexpr double kManySaturated = 0.001;
constexpr double kDimPart = 0.1;
constexpr double kBrightDarkPart = 0.25;
constexpr std::int64_t kFewFrames = 20;

void check_request(const MasterRequest& request, MasterKind kind,
                   const std::vector<std::string>& files, const Resources& resources) {
  if (files::format_of(request.output) != files::Format::fits) {
    throw UsageError(fmt::format(
        "{}: a master holds fractions of the camera's units, so it is written as FITS. Give it a "
        "name that ends in .fits",
        request.output));
  }
  if (kind == MasterKind::dark && !request.flat_dark.empty()) {
    throw UsageError(
        "--flat-dark: a dark has no flat dark. Leave it out, or give --kind flat if the frames "
        "show uniform light.");
  }
  std::vector<std::string> inputs = files;
  if (!request.flat_dark.empty()) {
    const auto darks = calibrate::calibration_files(request.flat_dark);
    inputs.insert(inputs.end(), darks.begin(), darks.end());
  }
  check_results({request.output}, inputs, resources);
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

// Of the frames as they are stored, before any dark is subtracted.
void add_levels(MasterOutcome& figures, MasterKind kind) {
  const calibrate::Master& master = figures.kept.master;
  const capture::CaptureInfo& info = master.source;
  const double median = calibrate::robust_level(master.planes.front().view()).median;
  figures.level_part = (median - info.scale.black) / (info.full_scale - info.scale.black);
  figures.saturated_part = part_from(master, kSaturatedPart * info.full_scale);
  const std::string part = fmt::format("{:.0f} % of full scale", 100 * figures.level_part);
  if (kind == MasterKind::dark && figures.level_part > kBrightDarkPart) {
    figures.notes.push_back(
        fmt::format("the dark is bright ({}). Was the telescope covered?", part));
  }
  if (kind == MasterKind::flat && figures.level_part < kDimPart) {
    figures.notes.push_back(
        fmt::format("the flat is dim ({}), so its noise is added to the frames. Record one at "
                    "about half of full scale",
                    part));
  }
  if (kind == MasterKind::flat && figures.saturated_part > kManySaturated) {
    figures.notes.push_back(fmt::format(
        "{:.1f} % of the flat is saturated, and invalid there. Record one at half the brightness",
        100 * figures.saturated_part));
  }
  if (master.frames < kFewFrames) {
    figures.notes.push_back(fmt::format(
        "only {} frames: their noise is the same in every calibrated frame. Record {} or more",
        master.frames, kFewFrames));
  }
  if (master.damaged > 0) {
    figures.notes.push_back(fmt::format("{} damaged frames are left out", master.damaged));
  }
}

[[nodiscard]] std::string history_of(const MasterRequest& request,
                                     const calibrate::Master& master) {
  std::string text = fmt::format(
      "Mean of {} frames, each pixel for itself, without samples beyond 4 sigma of its trimmed "
      "mean.\n",
      master.frames);
  for (const std::string& input : request.inputs) {
    text += fmt::format("From {}\n", std::filesystem::path(input).filename().string());
  }
  if (!request.flat_dark.empty()) {
    text += fmt::format("Less the dark of the flat, {}\n",
                        std::filesystem::path(request.flat_dark).filename().string());
  }
  return text;
}

/// The dark of a flat, with the noise of its frames: from a master's header, or measured.
[[nodiscard]] KeptMaster load_dark(const std::string& path, const Progress& progress) {
  KeptMaster dark = load_master(path, MasterKind::flat_dark, progress);
  if (!dark.noise && dark.master.source.storage.codec != "fits") {
    const auto source = calibrate::open_joined(calibrate::calibration_files(path), {});
    dark.noise = calibrate::pair_noise(*source, progress);
  }
  return dark;
}

[[nodiscard]] double sensor_unit(const capture::CaptureInfo& info) {
  return info.bits.high_aligned ? std::exp2(info.bits.stored - info.bits.used) : 1;
}

void subtract_flat_dark(MasterOutcome& figures, const Progress& progress) {
  const MasterRequest& request = figures.request;
  KeptMaster& flat = figures.kept;
  if (request.flat_dark.empty()) {
    figures.notes.push_back(
        "no flat dark is given: gain and read noise are not known, and the dark or the black "
        "level is subtracted when the flat is used");
    return;
  }
  const KeptMaster dark = load_dark(request.flat_dark, progress);
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
                    request.inputs.front(), request.flat_dark, left));
  }
  if (flat.noise) figures.transfer = calibrate::photon_transfer(*flat.noise, dark.noise, level);
  if (!figures.transfer) {
    figures.notes.push_back(
        "gain and read noise are not known: measuring them takes two flats or more, not saturated");
  }
}

}  // namespace

MasterOutcome run_master(const MasterRequest& given, const RunControl& control) {
  check_complete(master_options(), given);
  const MasterKind kind = *given.kind;
  MasterOutcome outcome;
  outcome.request = given;
  MasterRequest& request = outcome.request;
  if (request.output.empty()) {
    request.output =
        name_after(request.inputs.front(), fmt::format("_{}.fits", calibrate::kind_name(kind)));
  }
  std::vector<std::string> files;
  for (const std::string& input : request.inputs) {
    const auto found = calibrate::calibration_files(input);
    files.insert(files.end(), found.begin(), found.end());
  }
  check_request(request, kind, files, control.resources);
  auto source =
      calibrate::open_joined(files, {.decoder_threads = control.resources.threads,
                                     .check_size = check_of({need_of_master}, control.resources)});
  require_memory(source->info(), need_of_master(source->info()), control.resources);
  calibrate::check_part(*source, request.part);
  source = calibrate::part_of(std::move(source), request.part);
  outcome.kept.master = calibrate::average(*source, control.progress);
  outcome.kept.noise = calibrate::pair_noise(*source, control.progress);
  add_levels(outcome, kind);
  if (kind == MasterKind::flat) subtract_flat_dark(outcome, control.progress);
  files::Results results;
  results.add(request.output, [&](const auto& path) {
    write_master(path, outcome.kept, kind, history_of(request, outcome.kept.master));
  });
  commit(results, control.resources);
  return outcome;
}

nlohmann::json to_json(const MasterOutcome& outcome) {
  const MasterRequest& request = outcome.request;
  const KeptMaster& kept = outcome.kept;
  const MasterOutcome& figures = outcome;
  const capture::CaptureInfo& info = kept.master.source;
  nlohmann::json json = {{"master", files::name_text(request.output)},
                         {"kind", calibrate::kind_name(*request.kind)},
                         {"frames", kept.master.frames},
                         {"damaged", kept.master.damaged},
                         {"width_px", info.size.width_px},
                         {"height_px", info.size.height_px},
                         {"colour", capture::colour_name(info.colour)},
                         {"cfa", capture::cfa_name(info.cfa)},
                         {"true_bits", info.bits.used},
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
  return json;
}

}  // namespace lull::run
