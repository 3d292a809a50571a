#pragma once

#include <optional>
#include <string>

#include "quality/keep.h"
#include "run/capture_input.h"
#include "run/instrument.h"
#include "run/look.h"
#include "stack/stacker.h"

namespace lull::run {

/// Which area the picture shows: what most frames cover, or the whole frame.
enum class FrameArea { covered, whole };

enum class FinishChoice { automatic, none };

/// Whether the colours are registered to each other.
enum class DispersionChoice { automatic, off };

/// How frames are summed.
enum class FusionChoice { automatic, frequency, selection };

/// Where the report is written: beside the picture, nowhere, or to a named file.
struct ReportChoice {
  enum class Where { beside, nowhere, file } where = Where::beside;
  std::string file{};  ///< for Where::file
};

/// What `lull stack` is asked for.
struct StackRequest {
  CaptureInput input;
  std::string output;
  quality::Keep keep = quality::KeepAuto{};
  double patch_px = 0;  ///< side of the patches, 0 = auto
  FrameArea area = FrameArea::covered;
  FinishChoice finish = FinishChoice::automatic;
  DispersionChoice dispersion = DispersionChoice::automatic;
  FusionChoice fusion = FusionChoice::automatic;
  double scale = 1;               ///< of the picture, frame = 1
  std::optional<double> pixfrac;  ///< side of a drop, pixels of a frame; none = auto
  Look look;
  Instrument instrument;
  ReportChoice report;

  /// The page's file, empty = none.
  [[nodiscard]] std::string report_path() const;
};

[[nodiscard]] const OptionTable<StackRequest>& stack_options();

}  // namespace lull::run
