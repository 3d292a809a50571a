#pragma once

#include "core/dispatch.h"

/// Loops over the bins of a patch's spectrum, compiled once for each instruction set. Complex
/// numbers lie as re, im.
namespace lull::stack {

#define LULL_FUSION_KERNELS(X)                                                                    \
  /* out = frame times the conjugate of (reference - share * frame) / (1 - share) */              \
  X(cross_power, (const float* frame, const float* reference, float share, int bins, float* out)) \
  /* values /= power + a little; values are complex, power is not */                              \
  X(divide_by_power, (float* values, const float* power, int bins))                               \
  /* With h = mean + share * (transfer - mean), adds weight * mean * conjugate of h * frame to    \
     light, and weight * |h|^2 to power. mean, share and power are real, one a bin. */            \
  X(add_fused, (const float* frame, const float* transfer, const float* mean, const float* share, \
                float weight, int bins, float* light, float* power))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_FUSION_KERNELS)

}  // namespace lull::stack
