#include "app/opening.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <regex>

#include "app/choices.h"
#include "app/master_file.h"
#include "app/reading.h"
#include "calibrate/calibrated_capture.h"
#include "calibrate/master.h"
#include "calibrate/master_check.h"
#include "calibrate/mended_capture.h"
#include "core/error.h"
#include "files/atomic_file.h"

namespace lull::app {

namespace {

using calibrate::MasterKind;

// Shares of the memory: what frames at work may take, and what the cache may.
constexpr double kCacheShare = 0.6;

// Darks and flats come from the same camera, so what was said of the capture holds for them,
// unless they are files of another kind, such as averaged pictures.
std::optional<calibrate::Master> master(const std::string& path, MasterKind kind,
                                        const InputOptions& options, const Progress& progress) {
  if (path.empty()) return std::nullopt;
  capture::OpenOptions open = reading_of(options);
  open.lenient = true;
  return load_master(path, kind, progress, open).master;
}

std::unique_ptr<capture::Capture> open_source(const InputOptions& options) {
  return capture::Capture::open(options.capture, reading_of(options));
}

std::string unescaped(const std::string& text) {
  return std::regex_replace(text, std::regex("%%"), "%");
}

// Whether the output has the place and the name of a picture of a numbered sequence.
bool belongs_to_sequence(const std::filesystem::path& output,
                         const std::filesystem::path& pattern) {
  std::smatch parts;
  const std::string pattern_name = pattern.filename().string();
  if (!std::regex_match(pattern_name, parts, std::regex("(.*)%0?[0-9]*d(.*)"))) return false;
  const std::string before = unescaped(parts[1]);
  const std::string after = unescaped(parts[2]);
  const std::string name = output.filename().string();
  if (name.size() <= before.size() + after.size() || !name.starts_with(before) ||
      !name.ends_with(after)) {
    return false;
  }
  const bool numbered = std::all_of(name.begin() + static_cast<std::ptrdiff_t>(before.size()),
                                    name.end() - static_cast<std::ptrdiff_t>(after.size()),
                                    [](unsigned char c) { return std::isdigit(c) != 0; });
  std::error_code ignored;
  const auto folder_of = [&ignored](const std::filesystem::path& path) {
    return std::filesystem::weakly_canonical(std::filesystem::absolute(path, ignored), ignored)
        .parent_path();
  };
  return numbered && folder_of(output) == folder_of(pattern);
}

bool parse_pattern_noise(const std::string& text) {
  if (text == "auto" || text == "off") return text == "auto";
  throw no_such_choice("--pattern-noise", text, {"auto", "off"});
}

// Mends hot pixels and measures the pattern, both from the same frames of the capture.
std::unique_ptr<capture::Capture> without_marks(std::unique_ptr<capture::Capture> source,
                                                calibrate::PatternNoise& pattern,
                                                const Progress& progress) {
  // What is not known to be a mosaic is not measured: see there.
  if (source->info().mosaic_doubted) return calibrate::mended(std::move(source), {});
  calibrate::SensorSum sum = calibrate::sensor_sum(*source, progress);
  pattern = calibrate::measure_pattern(source->info(), sum);
  return calibrate::mended(std::move(source), std::move(sum));
}

Opened open(const InputOptions& options, bool remove_pattern, const Progress& progress) {
  Opened out;
  auto source = open_source(options);
  if (options.dark.empty()) source = without_marks(std::move(source), out.pattern, progress);
  out.pattern_removed = remove_pattern && out.pattern.significant();
  if (calibrates(options) || out.pattern_removed) {
    calibrate::Masters masters;
    masters.dark = master(options.dark, MasterKind::dark, options, progress);
    masters.flat = master(options.flat, MasterKind::flat, options, progress);
    masters.flat_dark = master(options.flat_dark, MasterKind::flat_dark, options, progress);
    if (out.pattern_removed) masters.pattern = out.pattern;
    calibrate::Calibration calibration(source->info(), std::move(masters));
    source = calibrate::calibrated(std::move(source), std::move(calibration));
    if (!options.dark.empty()) calibrate::check_dark_is_darker(*source, options.dark);
  }
  const auto budget =
      static_cast<std::size_t>(kCacheShare * static_cast<double>(options.memory_bytes));
  out.frames = std::make_unique<capture::FrameStore>(std::move(source), budget);
  return out;
}

}  // namespace

std::unique_ptr<capture::FrameStore> open_recorded(const InputOptions& options) {
  return std::make_unique<capture::FrameStore>(open_source(options), 0);
}

bool calibrates(const InputOptions& options) {
  return !options.dark.empty() || !options.flat.empty() || !options.flat_dark.empty();
}

Opened open_capture(const InputOptions& options, const Progress& progress) {
  return open(options, parse_pattern_noise(options.pattern_noise), progress);
}

Opened open_to_inspect(const InputOptions& options, const Progress& progress) {
  return open(options, false, progress);
}

std::optional<health::Pattern> pattern_of(const Opened& opened) {
  if (opened.pattern.planes.empty()) return std::nullopt;
  return health::Pattern{opened.pattern.columns_rms_adu(), opened.pattern.rows_rms_adu(),
                         opened.pattern.significant()};
}

std::optional<quality::Metric> parse_metric(const std::string& name) {
  if (name == "auto") return std::nullopt;
  const auto metric = quality::metric_named(name);
  if (metric) return metric;
  std::vector<std::string> known = {"auto"};
  for (const quality::Metric m : quality::kMetrics) known.emplace_back(quality::metric_name(m));
  throw no_such_choice("--metric", name, known);
}

void check_output(const std::string& output, const InputOptions& inputs) {
  for (const std::string& input : {inputs.capture, inputs.dark, inputs.flat, inputs.flat_dark}) {
    std::error_code ignored;
    if (input.empty()) continue;
    if (belongs_to_sequence(output, input)) {
      throw UsageError(
          fmt::format("{}: this is the name of a picture of the sequence {}, an input of the run; "
                      "choose another name",
                      output, input));
    }
    if (std::filesystem::equivalent(input, output, ignored)) {
      throw UsageError(fmt::format(
          "{}: this is an input of the run and would be overwritten; choose another name", output));
    }
  }
  files::check_writable(output);
}

}  // namespace lull::app
