#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/joined_capture.h"
#include "calibrate/pattern_noise.h"
#include "capture/frame_store.h"
#include "health/health.h"
#include "run/capture_input.h"
#include "run/control.h"
#include "run/memory_need.h"
#include "survey/orientation.h"

namespace lull::run {

/// A capture ready to be read.
struct Opened {
  std::unique_ptr<capture::FrameStore> frames;
  /// Where each of several captures begins, as far as it was read.
  calibrate::Beginnings beginnings = std::make_shared<std::vector<FrameIndex>>();
  /// Of the capture's rows and columns; of one with a dark nothing, since the dark has it.
  calibrate::PatternNoise pattern;
  bool pattern_removed = false;
  std::size_t frames_at_work_bytes = 0;  ///< share of --memory for frames beside the cache
};

/// How often a run reads the frames of its capture.
enum class Passes {
  one,      ///< nothing is kept of them
  several,  ///< the cache has a share of the memory
};

/// Opens the capture, with calibration where asked for. Without a dark, its own hot pixels are
/// repaired and the pattern of its rows and columns is subtracted.
/// @param need  of the run, without the cache. @throws InputError, UsageError; NothingUsable where
/// frames are too small to rank; NotEnoughMemory.
[[nodiscard]] Opened open_capture(const CaptureInput& input, Passes passes,
                                  const RunControl& control,
                                  const MemoryNeed& need = {need_of_survey});

/// The same for several passes, with turned frames turned back, and without those of which the
/// survey does not know how they are turned.
[[nodiscard]] Opened open_turned_back(const CaptureInput& input,
                                      const survey::Orientation& orientation,
                                      const RunControl& control, const MemoryNeed& need);

/// As open_capture() for one pass, but the pattern is only measured: levels stay as the camera
/// wrote them.
[[nodiscard]] Opened open_to_inspect(const CaptureInput& input, const RunControl& control);

/// What was measured of the pattern, for the report of its health.
[[nodiscard]] std::optional<health::Pattern> pattern_of(const Opened& opened);

/// What its frames are, for the report of its health.
[[nodiscard]] health::Samples samples_of(const CaptureInput& input);

/// The same as the camera gave it, without a cache: frames as they were recorded.
[[nodiscard]] std::unique_ptr<capture::FrameStore> open_recorded(const CaptureInput& input,
                                                                 const RunControl& control);

}  // namespace lull::run
