#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/pattern_noise.h"
#include "capture/frame_store.h"
#include "core/progress.h"
#include "health/health.h"
#include "quality/measure.h"

namespace lull::app {

/// What every command that reads a capture is told.
struct InputOptions {
  std::string capture;
  std::string dark;
  std::string flat;
  std::string flat_dark;
  std::string metric = "auto";
  std::string cfa = "auto";            ///< mosaic of the frames: auto, none, RGGB ...
  std::string byte_order = "auto";     ///< of raw 16-bit samples: auto, little or big
  std::string pixel_format = "auto";   ///< of raw video: auto or libav's name
  std::string pattern_noise = "auto";  ///< of rows and columns, found in the capture: auto or off
  int threads = 0;
  std::size_t memory_bytes = 0;
  bool json = false;
  bool quiet = false;
};

/// A capture ready to be read.
struct Opened {
  std::unique_ptr<capture::FrameStore> frames;
  /// Of the capture's rows and columns; of one with a dark nothing, since the dark has it.
  calibrate::PatternNoise pattern;
  bool pattern_removed = false;
};

/// Opens the capture, with calibration where asked for, and gives its cache a share of the memory.
/// Where no dark tells of them, its own hot pixels are mended and the pattern of its rows and
/// columns is taken off. @throws InputError, UsageError.
[[nodiscard]] Opened open_capture(const InputOptions& options, const Progress& progress);

/// The same, but the pattern is only measured: levels stay as the camera wrote them.
[[nodiscard]] Opened open_to_inspect(const InputOptions& options, const Progress& progress);

/// What was measured of the pattern, for what health tells of it.
[[nodiscard]] std::optional<health::Pattern> pattern_of(const Opened& opened);

/// The same as the camera gave it, without a cache: frames as they were recorded.
[[nodiscard]] std::unique_ptr<capture::FrameStore> open_recorded(const InputOptions& options);

[[nodiscard]] bool calibrates(const InputOptions& options);

/// none for "auto". @throws UsageError naming the measures.
[[nodiscard]] std::optional<quality::Metric> parse_metric(const std::string& name);

/// @throws UsageError when a result would overwrite one of the inputs; OutputError when it cannot
/// be written. For every result before any work.
void check_output(const std::string& output, const InputOptions& inputs);

}  // namespace lull::app
