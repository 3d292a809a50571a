#pragma once

#include <cstdint>

#include "core/dispatch.h"

/// The loops that touch every pixel of every frame, compiled once for each instruction set.
/// Each works on whole rows; sums over a cell are accumulated column by column (`sum[x] += ...`),
/// so that rows vectorise and the order of additions is the same at every level.
///
/// 8-bit samples are summed exactly in integers, 16-bit samples in float (their squares need
/// more than 32 bits). Bound for 8 bits: the largest square is (4 * 4080)^2 = 2.7e8, and at most
/// kRowsPerSum = 16 of them are added, which fits std::uint32_t.
namespace lull::quality {

inline constexpr int kRowsPerSum = 16;

#define LULL_QUALITY_ROW_KERNELS(X)                                                               \
  /* sum[x] += (mid[x+1]-mid[x-1])^2 + (down[x]-up[x])^2, x in [1, width-1) */                    \
  X(gradient_u8, (const std::uint8_t* up, const std::uint8_t* mid, const std::uint8_t* down,      \
                  int width, std::uint32_t* sum))                                                 \
  X(gradient_u16, (const std::uint16_t* up, const std::uint16_t* mid, const std::uint16_t* down,  \
                   int width, float* sum))                                                        \
  /* sum[x] += (4 mid[x]-mid[x-1]-mid[x+1]-up[x]-down[x])^2 */                                    \
  X(laplacian_u8, (const std::uint8_t* up, const std::uint8_t* mid, const std::uint8_t* down,     \
                   int width, std::uint32_t* sum))                                                \
  X(laplacian_u16, (const std::uint16_t* up, const std::uint16_t* mid, const std::uint16_t* down, \
                    int width, float* sum))                                                       \
  /* sum[x] += |2 mid[x]-mid[x-1]-mid[x+1]| + |2 mid[x]-up[x]-down[x]| */                         \
  X(modified_laplacian_u8, (const std::uint8_t* up, const std::uint8_t* mid,                      \
                            const std::uint8_t* down, int width, std::uint32_t* sum))             \
  X(modified_laplacian_u16, (const std::uint16_t* up, const std::uint16_t* mid,                   \
                             const std::uint16_t* down, int width, float* sum))                   \
  /* half[x] = sum of the 2 x 2 block at 2x; half_width outputs */                                \
  X(halve_u8,                                                                                     \
    (const std::uint8_t* first, const std::uint8_t* second, int half_width, std::uint16_t* half)) \
  X(halve_u16,                                                                                    \
    (const std::uint16_t* first, const std::uint16_t* second, int half_width, float* half))       \
  /* box[x] = half[x]+half[x+1] of two rows, x in [0, width-1) */                                 \
  X(box_u16,                                                                                      \
    (const std::uint16_t* first, const std::uint16_t* second, int width, std::uint16_t* box))     \
  X(box_f32, (const float* first, const float* second, int width, float* box))                    \
  /* Laplacian energy of box rows, whose sums fit 12 bits where they came from 8-bit samples */   \
  X(box_laplacian_u16, (const std::uint16_t* up, const std::uint16_t* mid,                        \
                        const std::uint16_t* down, int width, std::uint32_t* sum))                \
  X(box_laplacian_f32,                                                                            \
    (const float* up, const float* mid, const float* down, int width, float* sum))                \
  /* quarter[x] = sum of the 2 x 2 block of half rows at 2x, as float */                          \
  X(quarter_u16,                                                                                  \
    (const std::uint16_t* first, const std::uint16_t* second, int quarter_width, float* quarter)) \
  X(quarter_f32, (const float* first, const float* second, int quarter_width, float* quarter))    \
  /* out[x] = vertical then horizontal [1 2 1]; x in [1, width-1) */                              \
  X(smooth_f32,                                                                                   \
    (const float* up, const float* mid, const float* down, int width, float* out, float* scratch))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_QUALITY_ROW_KERNELS)

}  // namespace lull::quality
