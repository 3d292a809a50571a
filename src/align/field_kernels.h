#pragma once

#include <cstddef>

#include "core/cpu.h"

/// Loops over rows of pixels for registration and stacking, compiled once for each instruction set.
namespace lull::align {

#define LULL_FIELD_ROW_KERNELS(X)                                                                  \
  /* out[i] = the image at (x[i], y[i]), Keys' cubic convolution (a = -1/2) over 4 x 4 samples.     \
     Coordinates are first limited to [-1, limit], so a margin of 3 samples must be readable. */   \
  X(sample_cubic, (const float* origin, std::ptrdiff_t stride_elems, const float* x,                \
                   const float* y, int count, float limit_x, float limit_y, float* out))           \
  /* With e = gain * frame - reference where valid, else 0: sums[0..3][i] += e, e gx, e gy, e e;    \
     sums are `pitch` apart. valid is 0 or 1. */                                                   \
  X(add_products, (const float* frame, const float* reference, const float* gradient_x,             \
                   const float* gradient_y, const float* valid, float gain, int count, float* sums, \
                   std::ptrdiff_t pitch))

#define LULL_DECLARE(name, parameters) void name parameters;
namespace baseline {
LULL_FIELD_ROW_KERNELS(LULL_DECLARE)
}
namespace avx2 {
LULL_FIELD_ROW_KERNELS(LULL_DECLARE)
}
namespace avx512 {
LULL_FIELD_ROW_KERNELS(LULL_DECLARE)
}
#undef LULL_DECLARE

namespace kernels {
#define LULL_FORWARD(name, parameters) \
  inline auto* name() {                \
    static constexpr Dispatch<void parameters> table = LULL_DISPATCH(name); \
    return table.get();                \
  }
LULL_FIELD_ROW_KERNELS(LULL_FORWARD)
#undef LULL_FORWARD
}  // namespace kernels

}  // namespace lull::align
