#pragma once

#include <string>

#include "run/capture_input.h"
#include "run/instrument.h"
#include "run/look.h"
#include "run/stacking.h"

namespace lull::run {

enum class FinishChoice { automatic, none };

/// Where the report is written: beside the picture, nowhere, or to a named file.
struct ReportChoice {
  enum class Where { beside, nowhere, file } where = Where::beside;
  std::string file{};  ///< for Where::file
};

/// What `lull stack` is asked for.
struct StackRequest {
  CaptureInput input;
  std::string output;  ///< empty: named after the capture
  Stacking stacking;
  FinishChoice finish = FinishChoice::automatic;
  Look look;
  Instrument instrument;
  ReportChoice report;

  /// The page's file, empty = none.
  [[nodiscard]] std::string report_path() const;
};

[[nodiscard]] const OptionTable<StackRequest>& stack_options();

}  // namespace lull::run
