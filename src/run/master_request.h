#pragma once

#include <optional>
#include <string>
#include <vector>

#include "calibrate/master_check.h"
#include "calibrate/part_of_capture.h"
#include "run/option.h"

namespace lull::run {

/// What `lull master` is asked for.
struct MasterRequest {
  std::vector<std::string> inputs;            ///< captures, pictures, folders of these
  std::string output;                         ///< empty: named after the first input
  std::optional<calibrate::MasterKind> kind;  ///< dark or flat; has to be given
  calibrate::Part part;                       ///< of the inputs as one capture
  std::string flat_dark;                      ///< of a flat; empty = none
};

[[nodiscard]] const OptionTable<MasterRequest>& master_options();

}  // namespace lull::run
