#include "app/opening.h"

#include <fmt/format.h>

#include <filesystem>

#include "calibrate/calibrated_capture.h"
#include "calibrate/master.h"
#include "core/error.h"
#include "output/atomic_file.h"

namespace lull::app {

namespace {

// Shares of the memory: what frames at work may take, and what the cache may.
constexpr double kCacheShare = 0.6;

std::optional<calibrate::Master> master(const std::string& path, const Progress& progress) {
  if (path.empty()) return std::nullopt;
  return calibrate::read_master(path, progress);
}

}  // namespace

std::unique_ptr<capture::FrameStore> open_capture(const InputOptions& options,
                                                  const Progress& progress) {
  capture::OpenOptions open;
  open.decoder_threads = options.threads;
  auto source = capture::Capture::open(options.capture, open);
  if (!options.dark.empty() || !options.flat.empty() || !options.flat_dark.empty()) {
    calibrate::Masters masters;
    masters.dark = master(options.dark, progress);
    masters.flat = master(options.flat, progress);
    masters.flat_dark = master(options.flat_dark, progress);
    calibrate::Calibration calibration(source->info(), std::move(masters));
    source = calibrate::calibrated(std::move(source), std::move(calibration));
  }
  const auto budget =
      static_cast<std::size_t>(kCacheShare * static_cast<double>(options.memory_bytes));
  return std::make_unique<capture::FrameStore>(std::move(source), budget);
}

std::optional<quality::Metric> parse_metric(const std::string& name) {
  if (name == "auto") return std::nullopt;
  const auto metric = quality::metric_named(name);
  if (metric) return metric;
  std::string known = "auto";
  for (const quality::Metric m : quality::kMetrics) {
    known += fmt::format(", {}", quality::metric_name(m));
  }
  throw UsageError(fmt::format("--metric {}: there are {}", name, known));
}

void check_output(const std::string& output, const InputOptions& inputs) {
  for (const std::string& input : {inputs.capture, inputs.dark, inputs.flat, inputs.flat_dark}) {
    std::error_code ignored;
    if (!input.empty() && std::filesystem::equivalent(input, output, ignored)) {
      throw UsageError(fmt::format(
          "{}: this is an input of the run and would be overwritten; choose another name", output));
    }
  }
  output::check_writable(output);
}

}  // namespace lull::app
