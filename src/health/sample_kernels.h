#pragma once

#include <cstdint>

#include "core/dispatch.h"

/// Loops over samples and bins, compiled once for each instruction set.
namespace lull::health {

#define LULL_SAMPLE_KERNELS(X)                                                      \
  /* Of six rows, column by column: their sum, and their highest value. */          \
  X(strip_u8, (const std::uint8_t* const* rows, int width, int* sums, int* most))   \
  X(strip_u16, (const std::uint16_t* const* rows, int width, int* sums, int* most)) \
  /* sums += |value - mean|^2; values and means are complex, re and im by turns. */ \
  X(add_scatter, (const float* values, const float* mean, int bins, float* sums))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_SAMPLE_KERNELS)

}  // namespace lull::health
