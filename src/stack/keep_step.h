#pragma once

#include <cstdint>
#include <optional>

#include "stack/keep_choice.h"

namespace lull::stack {

/// Quality of the stack of only the best `frames` frames.
struct KeepStep {
  std::int64_t frames = 0;
  double information_bits = 0;                 ///< see spectrum::FrcCurve::information_bits
  double resolution = 0;                       ///< cycles/px, 0 = none
  std::optional<ExpectedError> expected = {};  ///< of the finished picture; none of a given share
};

}  // namespace lull::stack
