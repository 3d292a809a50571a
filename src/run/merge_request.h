#pragma once

#include <string>
#include <vector>

#include "merge/join.h"
#include "run/look.h"
#include "run/report_choice.h"

namespace lull::run {

/// What `lull merge` is asked for.
struct MergeRequest {
  std::string red;
  std::string green;
  std::string blue;
  std::string luminance;  ///< empty: none
  std::string output;     ///< empty: named after the green stack
  merge::Bend field = merge::Bend::followed;
  merge::BlurMatch blur_match = merge::BlurMatch::to_the_grid;
  Look look;
  ReportChoice report;

  /// Red, green, blue, and luminance where there is one.
  [[nodiscard]] std::vector<std::string> stacks() const;

  /// The page's file, empty = none.
  [[nodiscard]] std::string report_path() const { return report.path_beside(output); }
};

[[nodiscard]] const OptionTable<MergeRequest>& merge_options();

}  // namespace lull::run
