#include "run/opening.h"

#include "calibrate/calibrated_capture.h"
#include "calibrate/joined_capture.h"
#include "calibrate/master.h"
#include "calibrate/master_check.h"
#include "calibrate/repaired_capture.h"
#include "calibrate/turned_capture.h"
#include "run/master_file.h"

namespace lull::run {

namespace {

using calibrate::MasterKind;

// Shares of the memory: what frames at work may take, and what the cache may.
constexpr double kCacheShare = 0.6;

// Darks and flats come from the same camera, so the options of the capture hold for them, unless
// they are files of another kind, such as averaged pictures.
std::optional<calibrate::Master> master(const std::string& path, MasterKind kind,
                                        const CaptureInput& input, const RunControl& control) {
  if (path.empty()) return std::nullopt;
  capture::OpenOptions open = open_options(input, control.resources.threads);
  open.misfit = capture::Misfit::left_out;
  return load_master(path, kind, control.progress, open).master;
}

std::unique_ptr<capture::Capture> open_source(const CaptureInput& input,
                                              const RunControl& control) {
  auto source =
      calibrate::open_joined(input.captures, open_options(input, control.resources.threads));
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

enum class Pattern { measure, subtract };

Pattern wanted_of(const CaptureInput& input) {
  return input.pattern_noise == PatternNoiseChoice::automatic ? Pattern::subtract
                                                              : Pattern::measure;
}

Opened open(const CaptureInput& input, Pattern wanted, Passes passes, const RunControl& control,
            const std::vector<calibrate::TurnedFrames>& turned = {}) {
  const Progress& progress = control.progress;
  Opened out;
  auto source = open_source(input, control);
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
  const double share = passes == Passes::several ? kCacheShare : 0;
  const auto budget =
      static_cast<std::size_t>(share * static_cast<double>(control.resources.memory()));
  out.frames = std::make_unique<capture::FrameStore>(std::move(source), budget);
  return out;
}

}  // namespace

std::unique_ptr<capture::FrameStore> open_recorded(const CaptureInput& input,
                                                   const RunControl& control) {
  return std::make_unique<capture::FrameStore>(
      calibrate::part_of(open_source(input, control), input.part), 0);
}

Opened open_capture(const CaptureInput& input, Passes passes, const RunControl& control) {
  return open(input, wanted_of(input), passes, control);
}

Opened open_turned_back(const CaptureInput& input, const survey::Orientation& orientation,
                        const RunControl& control) {
  CaptureInput sure = input;
  sure.part.excluded = calibrate::joined(sure.part.excluded, orientation.doubtful);
  return open(sure, wanted_of(input), Passes::several, control, orientation.turned);
}

Opened open_to_inspect(const CaptureInput& input, const RunControl& control) {
  return open(input, Pattern::measure, Passes::one, control);
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
