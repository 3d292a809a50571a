#pragma once

#include <cstdint>

#include "core/dispatch.h"

/// The loops that touch every sample, compiled once for each instruction set. Each works on one
/// row.
namespace lull::calibrate {

/// Calibrated samples: stored = kBlack + light * kUnitsOfLight, so that noise below black survives
/// (down to -0.1) and a flat that brightens the corners does not clip at once (up to +1.53).
inline constexpr int kBlack = 4096;
inline constexpr int kUnitsOfLight = 40000;
/// What a saturated sample is written as; no other sample reaches it.
inline constexpr int kSaturated = 65535;

#define LULL_CALIBRATE_ROW_KERNELS(X)                                                            \
  /* exact sums of at most kMostMasterFrames rows, with the smallest and largest sample */       \
  X(gather_u8, (const std::uint8_t* in, int width, std::uint32_t* sum, std::uint64_t* squares,   \
                std::uint16_t* lowest, std::uint16_t* highest))                                  \
  X(gather_u16, (const std::uint16_t* in, int width, std::uint32_t* sum, std::uint64_t* squares, \
                 std::uint16_t* lowest, std::uint16_t* highest))                                 \
  /* sum and count of the samples in [low[x], high[x]] */                                        \
  X(gather_within_u8, (const std::uint8_t* in, int width, const std::uint16_t* low,              \
                       const std::uint16_t* high, std::uint32_t* sum, std::uint32_t* count))     \
  X(gather_within_u16, (const std::uint16_t* in, int width, const std::uint16_t* low,            \
                        const std::uint16_t* high, std::uint32_t* sum, std::uint32_t* count))    \
  /* out[x] = kBlack + (in[x] - dark[x]) * gain[x], rounded, clamped to [0, kSaturated);         \
     kSaturated where in[x] >= saturated_from */                                                 \
  X(correct_u8, (const std::uint8_t* in, int width, const float* dark, const float* gain,        \
                 int saturated_from, std::uint16_t* out))                                        \
  X(correct_u16, (const std::uint16_t* in, int width, const float* dark, const float* gain,      \
                  int saturated_from, std::uint16_t* out))

// The kernels at the level in use: kernels::NAME()(arguments).
LULL_KERNELS(LULL_CALIBRATE_ROW_KERNELS)

}  // namespace lull::calibrate
