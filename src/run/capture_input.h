#pragma once

#include <optional>
#include <string>
#include <vector>

#include "calibrate/part_of_capture.h"
#include "capture/capture.h"
#include "quality/measure.h"
#include "run/option.h"

namespace lull::run {

/// What is done about the pattern of rows and columns, where no dark is given.
enum class PatternNoiseChoice { automatic, off };

/// A capture, how it is read, and with what it is calibrated.
struct CaptureInput {
  std::vector<std::string> captures;  ///< one; or several, one after the other
  std::string dark;                   ///< empty = none, as all file names of requests
  std::string flat;
  std::string flat_dark;
  std::optional<quality::Metric> metric;  ///< none: several together
  std::optional<capture::Cfa> cfa;        ///< of the frames as stored; none: as stated by the file
  capture::ByteOrder byte_order = capture::ByteOrder::automatic;
  std::string pixel_format;  ///< of raw video, libav's name; empty: as stated by the file
  PatternNoiseChoice pattern_noise = PatternNoiseChoice::automatic;
  calibrate::Part part;

  /// The first capture, by which a run is named; empty = none.
  [[nodiscard]] std::string capture() const {
    return captures.empty() ? std::string() : captures.front();
  }

  /// All files that are read, empty names where there is none.
  [[nodiscard]] std::vector<std::string> files() const;

  /// Whether frames are calibrated with a dark or a flat.
  [[nodiscard]] bool is_calibrated() const {
    return !dark.empty() || !flat.empty() || !flat_dark.empty();
  }
};

/// What a verb takes: one capture, or one or more; `stack` may have them from a recipe.
enum class CaptureNames { one, several, several_or_recipe };

/// Options of a capture, but for --pattern-noise.
[[nodiscard]] OptionTable<CaptureInput> capture_options(CaptureNames names);

/// --pattern-noise, for verbs that calibrate.
[[nodiscard]] OptionTable<CaptureInput> pattern_options();

/// How the capture is to be opened.
/// @param decoder_threads  0 = as many as the machine has.
/// @throws UsageError for a combination that makes no sense.
[[nodiscard]] capture::OpenOptions open_options(const CaptureInput& input, int decoder_threads);

}  // namespace lull::run
