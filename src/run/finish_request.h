#pragma once

#include <string>

#include "run/look.h"

namespace lull::run {

/// What `lull finish` is asked for.
struct FinishRequest {
  std::string input;
  std::string output;  ///< empty: named after the stack
  Look look;
};

[[nodiscard]] const OptionTable<FinishRequest>& finish_options();

}  // namespace lull::run
