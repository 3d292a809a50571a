#pragma once

#include <cstddef>

#include "core/dispatch.h"

/// Loops over rows of pixels for registration and stacking, compiled once for each instruction set.
namespace lull::align {

/// Pixels between two nodes of a ShiftField, and lanes of a block.
inline constexpr int kNodePx = 8;

#define LULL_FIELD_ROW_KERNELS(X)                                                                  \
  /* Values on nodes to values on pixels, along one row: first low + share * (high - low) node by  \
     node, then linear between nodes, constant outside. `out` must hold kNodePx * columns. */      \
  X(expand_nodes, (const float* low, const float* high, float share, int columns, float* out))     \
  /* x[i] += i + whole_x; y[i] += whole_y */                                                       \
  X(add_place, (float whole_x, float whole_y, int count, float* x, float* y))                      \
  /* valid[i] = also[i] where (x[i], y[i]) lies in [0, right] x [0, bottom], else 0 */             \
  X(inside, (const float* x, const float* y, const float* also, float right, float bottom,         \
             int count, float* valid))                                                             \
  /* weight[i] *= a ramp from 0 at the frame's edge to 1 at fade_px inside of it */                \
  X(fade_edges, (const float* x, const float* y, float right, float bottom, float fade_px,         \
                 int count, float* weight))                                                        \
  /* out[i] = the image at (x[i], y[i]), Keys' cubic convolution (a = -1/2) over 4 x 4 samples.    \
     Coordinates are first limited to [-1, limit], so a margin of 4 samples must be readable. */   \
  X(sample_cubic, (const float* origin, std::ptrdiff_t stride_elems, const float* x,               \
                   const float* y, int count, float limit_x, float limit_y, float* out))           \
  /* With e = gain * frame - reference where valid, else 0, adds to the six sums, `pitch` apart:   \
     e, e gx, e gy, e e, valid * reference, e * curvature. valid is 0 or 1. */                     \
  X(add_products, (const float* frame, const float* reference, const float* gradient_x,            \
                   const float* gradient_y, const float* curvature, const float* valid,            \
                   float gain, int count, float* sums, std::ptrdiff_t pitch))                      \
  /* out[i] = taps[0] rows[radius][i] + sum of taps[k] (rows[radius - k][i] + rows[radius +        \
     k][i]), k = 1 .. radius */                                                                    \
  X(blur, (const float* const* rows, const float* taps, int radius, int count, float* out))        \
  /* out[i] = factor * in[i step]; both may be one row */                                          \
  X(every, (const float* in, int step, float factor, int count, float* out))                       \
  /* outside[i] = 1 where factor times the image's sample nearest to (x[i], y[i]) lies beyond      \
     low[i] - margin or high[i] + margin, else 0; also 0 where that sample is not among the width  \
     x height ones of the image, beyond which one more must be readable. any = 1 where one is 1 */ \
  X(outside_bounds, (const float* image, std::ptrdiff_t stride_elems, const float* x,              \
                     const float* y, const float* low, const float* high, float factor,            \
                     float margin, float width, float height, int count, int* outside, int* any))  \
  /* any = 1 where one of factor * in[i] is below low[i] - margin or above high[i] + margin, or    \
     not a number; else 0 */                                                                       \
  X(any_beyond, (const float* in, const float* low, const float* high, float factor, float margin, \
                 int count, int* any))                                                             \
  /* sum[i] += weight[i] * gain * value[i]; total[i] += weight[i] */                               \
  X(add_weighted,                                                                                  \
    (const float* value, const float* weight, float gain, int count, float* sum, float* total))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_FIELD_ROW_KERNELS)

}  // namespace lull::align
