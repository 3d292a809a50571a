// Compiled once for each instruction set: LULL_KERNEL_LEVEL names the namespace. Nothing but
// plain loops here, and no library templates: those would be compiled for the same set and could
// be the copy that the linker keeps for the whole program.
#include "calibrate/row_kernels.h"

namespace lull::calibrate::LULL_KERNEL_LEVEL {

namespace {

using std::uint16_t;
using std::uint32_t;
using std::uint64_t;
using std::uint8_t;

template <class T>
void gather(const T* in, int width, uint32_t* __restrict sum, uint64_t* __restrict squares,
            uint16_t* __restrict lowest, uint16_t* __restrict highest) {
  for (int x = 0; x < width; ++x) {
    const uint16_t value = in[x];
    const uint32_t wide = value;
    sum[x] += wide;
    const uint32_t square = wide * wide;  // at most 65535 squared: no overflow
    squares[x] += square;
    lowest[x] = value < lowest[x] ? value : lowest[x];
    highest[x] = value > highest[x] ? value : highest[x];
  }
}

template <class T>
void gather_within(const T* in, int width, const uint16_t* low, const uint16_t* high,
                   uint32_t* __restrict sum, uint32_t* __restrict count) {
  for (int x = 0; x < width; ++x) {
    const uint32_t value = in[x];
    const bool within = value >= low[x] && value <= high[x];
    sum[x] += within ? value : 0U;
    count[x] += within ? 1U : 0U;
  }
}

template <class T>
void correct(const T* in, int width, const float* dark, const float* gain, int saturated_from,
             uint16_t* __restrict out) {
  constexpr float kRounded = static_cast<float>(kBlack) + 0.5F;
  constexpr float kTop = static_cast<float>(kSaturated - 1);
  for (int x = 0; x < width; ++x) {
    const int sample = in[x];
    float value = (static_cast<float>(sample) - dark[x]) * gain[x] + kRounded;
    value = value < 0.0F ? 0.0F : value;
    value = value > kTop ? kTop : value;
    const int whole = static_cast<int>(value);
    out[x] = static_cast<uint16_t>(sample >= saturated_from ? kSaturated : whole);
  }
}

}  // namespace

void gather_u8(const uint8_t* in, int width, uint32_t* sum, uint64_t* squares, uint16_t* lowest,
               uint16_t* highest) {
  gather(in, width, sum, squares, lowest, highest);
}

void gather_u16(const uint16_t* in, int width, uint32_t* sum, uint64_t* squares, uint16_t* lowest,
                uint16_t* highest) {
  gather(in, width, sum, squares, lowest, highest);
}

void gather_within_u8(const uint8_t* in, int width, const uint16_t* low, const uint16_t* high,
                      uint32_t* sum, uint32_t* count) {
  gather_within(in, width, low, high, sum, count);
}

void gather_within_u16(const uint16_t* in, int width, const uint16_t* low, const uint16_t* high,
                       uint32_t* sum, uint32_t* count) {
  gather_within(in, width, low, high, sum, count);
}

void correct_u8(const uint8_t* in, int width, const float* dark, const float* gain,
                int saturated_from, uint16_t* out) {
  correct(in, width, dark, gain, saturated_from, out);
}

void correct_u16(const uint16_t* in, int width, const float* dark, const float* gain,
                 int saturated_from, uint16_t* out) {
  correct(in, width, dark, gain, saturated_from, out);
}

}  // namespace lull::calibrate::LULL_KERNEL_LEVEL
