#pragma once

#include <string>

#include "run/look.h"
#include "run/report_choice.h"

namespace lull::run {

/// What `lull finish` is asked for.
struct FinishRequest {
  std::string input;
  std::string output;  ///< empty: named after the stack
  Look look;
  ReportChoice report;

  /// The page's file, empty = none. Not that of the stack, which may have the same name.
  [[nodiscard]] std::string report_path() const {
    return report.path_beside(output, ".finish.html");
  }
};

[[nodiscard]] const OptionTable<FinishRequest>& finish_options();

}  // namespace lull::run
