#pragma once

#include <cstdint>

namespace lull::stack {

/// What the stack would be like with only the best so many frames.
struct KeepStep {
  std::int64_t frames = 0;
  double information_bits = 0;  ///< see spectrum::FrcCurve::information_bits
  double resolution = 0;        ///< cycles/px, 0 = none
};

}  // namespace lull::stack
