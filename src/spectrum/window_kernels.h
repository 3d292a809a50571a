#pragma once

#include "core/dispatch.h"

/// Loops over rows before, within and after a transform, compiled once for each instruction set.
namespace lull::spectrum {

#define LULL_WINDOW_KERNELS(X)                                                                  \
  /* *sum = the sum of weight[i] * (value[i] - base) */                                         \
  X(weighted_sum, (const float* value, float base, const float* weight, int count, float* sum)) \
  /* *sum = the sum of weight[i]^2 * value[i] where it is positive */                           \
  X(squared_window_sum, (const float* value, const float* weight, int count, float* sum))       \
  /* out[i] = (in[i] - mean) * factor * weight[i]; out may be in */                             \
  X(apply_window,                                                                               \
    (const float* in, float mean, float factor, const float* weight, int count, float* out))    \
  /* The transform of pairs of real values, and that of the values: complex a = row[k] and      \
     b = row[half - k] become p + q and conj(p - q), for k = 1 to half / 2, where               \
     p = share * (a + conj(b)) and q = turn[k] * (a - conj(b)).                                 \
     turns: re, re, -im, im of each turn */                                                     \
  X(mix_ends, (float* row, const float* turns, float share, int half))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_WINDOW_KERNELS)

}  // namespace lull::spectrum
