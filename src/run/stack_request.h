#pragma once

#include <string>

#include "run/capture_input.h"
#include "run/instrument.h"
#include "run/look.h"
#include "run/report_choice.h"
#include "run/stacking.h"
#include "run/turning.h"

namespace lull::run {

enum class FinishChoice { automatic, none };

/// What `lull stack` is asked for.
struct StackRequest {
  CaptureInput input;
  std::string output;  ///< empty: named after the capture
  Stacking stacking;
  Turning turning;
  FinishChoice finish = FinishChoice::automatic;
  Look look;
  Instrument instrument;
  ReportChoice report;

  /// The page's file, empty = none.
  [[nodiscard]] std::string report_path() const { return report.path_beside(output); }
};

[[nodiscard]] const OptionTable<StackRequest>& stack_options();

}  // namespace lull::run
