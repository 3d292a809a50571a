#include "run/opening.h"

#include <utility>

#include "calibrate/calibrated_capture.h"
#include "calibrate/master.h"
#include "calibrate/master_check.h"
#include "calibrate/repaired_capture.h"
#include "calibrate/turned_capture.h"
#include "run/master_file.h"
#include "survey/observer.h"

namespace lull::run {

namespace {

using calibrate::MasterKind;

constexpr double kMasterPixel = 12;  // bytes, of each plane of a dark, a flat, or of a sensor sum

// Darks and flats come from the same camera, so the options of the capture hold for them, unless
// they are files of another kind, such as averaged pictures.
std::optional<calibrate::Master> master(const std::string& path, MasterKind kind,
                                        const CaptureInput& input, const RunControl& control) {
  if (path.empty()) return std::nullopt;
  capture::OpenOptions open = open_options(input, control.resources.threads);
  open.misfit = capture::Misfit::left_out;
  return load_master(path, kind, control.progress, open).master;
}

std::unique_ptr<capture::Capture> open_source(const CaptureInput& input, const RunControl& control,
                                              const MemoryNeed& need,
                                              calibrate::Beginnings beginnings = nullptr) {
  capture::OpenOptions options = open_options(input, control.resources.threads);
  // Of a part of the frames less is needed, see checked_need().
  const MemoryNeed least = {
      [](const capture::CaptureInfo& info) { return need_of_survey(info) / 2; }};
  options.check_size = check_of(input.part.crop ? least : need, control.resources);
  auto source = calibrate::open_joined(input.captures, options, std::move(beginnings));
  calibrate::check_part(*source, input.part);
  return source;
}

// Repairs hot pixels and measures the pattern, both from the same frames of the capture.
std::unique_ptr<capture::Capture> without_marks(std::unique_ptr<capture::Capture> source,
                                                calibrate::PatternNoise& pattern,
                                                const Progress& progress) {
  // What is not known to be a mosaic is not measured: see there.
  if (source->info().cfa_doubtful) return calibrate::repaired(std::move(source), {});
  calibrate::SensorSum sum = calibrate::sensor_sum(*source, progress);
  pattern = calibrate::measure_pattern(source->info(), sum);
  return calibrate::repaired(std::move(source), std::move(sum));
}

// What a run needs of memory for this capture, before its pixels are read.
double checked_need(const CaptureInput& input, const capture::CaptureInfo& whole,
                    const RunControl& control, const MemoryNeed& need) {
  capture::CaptureInfo used = whole;
  if (const auto& crop = input.part.crop) used.size = {crop->width_px(), crop->height_px()};
  survey::check_frame_size(used);
  double bytes = need.bytes(used);
  const double planes = whole.colour == capture::Colour::rgb ? 3 : 1;
  const double plane = kMasterPixel * planes * static_cast<double>(whole.size.area_px());
  for (const std::string* master : {&input.dark, &input.flat, &input.flat_dark})
    if (!master->empty()) bytes += plane;
  if (input.part.crop) bytes += plane + need_of_survey(whole) / 2;
  require_memory(used, bytes, control.resources, need.less);
  return bytes;
}

enum class Pattern { measure, subtract };

Pattern wanted_of(const CaptureInput& input) {
  return input.pattern_noise == PatternNoiseChoice::automatic ? Pattern::subtract
                                                              : Pattern::measure;
}

Opened open(const CaptureInput& input, Pattern wanted, Passes passes, const RunControl& control,
            const MemoryNeed& needed, const std::vector<calibrate::TurnedFrames>& turned = {}) {
  const Progress& progress = control.progress;
  Opened out;
  auto source = open_source(input, control, needed, out.beginnings);
  const double need = checked_need(input, source->info(), control, needed);
  if (input.dark.empty()) source = without_marks(std::move(source), out.pattern, progress);
  out.pattern_removed = wanted == Pattern::subtract && out.pattern.significant();
  if (input.is_calibrated() || out.pattern_removed) {
    calibrate::Masters masters;
    masters.dark = master(input.dark, MasterKind::dark, input, control);
    masters.flat = master(input.flat, MasterKind::flat, input, control);
    masters.flat_dark = master(input.flat_dark, MasterKind::flat_dark, input, control);
    if (out.pattern_removed) masters.pattern = out.pattern;
    calibrate::Calibration calibration(source->info(), std::move(masters));
    source = calibrate::calibrated(std::move(source), std::move(calibration));
    if (!input.dark.empty()) calibrate::check_dark_is_darker(*source, input.dark);
  }
  // The crop comes last: darks, flats and marks of the sensor are those of whole frames.
  source = calibrate::turned_back(calibrate::part_of(std::move(source), input.part), turned);
  const Spare spare = spare_memory(source->info(), need, control.resources);
  out.frames_at_work_bytes = spare.at_work;
  out.frames = std::make_unique<capture::FrameStore>(std::move(source),
                                                     passes == Passes::several ? spare.cache : 0);
  return out;
}

}  // namespace

std::unique_ptr<capture::FrameStore> open_recorded(const CaptureInput& input,
                                                   const RunControl& control) {
  return std::make_unique<capture::FrameStore>(
      calibrate::part_of(open_source(input, control, {need_of_survey}), input.part), 0);
}

Opened open_capture(const CaptureInput& input, Passes passes, const RunControl& control,
                    const MemoryNeed& need) {
  return open(input, wanted_of(input), passes, control, need);
}

Opened open_turned_back(const CaptureInput& input, const survey::Orientation& orientation,
                        const RunControl& control, const MemoryNeed& need) {
  CaptureInput sure = input;
  sure.part.excluded = calibrate::joined(sure.part.excluded, orientation.doubtful);
  return open(sure, wanted_of(input), Passes::several, control, need, orientation.turned);
}

Opened open_to_inspect(const CaptureInput& input, const RunControl& control) {
  return open(input, Pattern::measure, Passes::one, control, {need_of_survey});
}

health::Samples samples_of(const CaptureInput& input) {
  return input.is_calibrated() ? health::Samples::calibrated : health::Samples::recorded;
}

std::optional<health::Pattern> pattern_of(const Opened& opened) {
  if (opened.pattern.planes.empty()) return std::nullopt;
  return health::Pattern{opened.pattern.columns_rms_adu(), opened.pattern.rows_rms_adu(),
                         opened.pattern.significant()};
}

}  // namespace lull::run
