// Compiled once for each instruction set: see quality/row_kernels.cpp.
#include "core/kernel_lanes.h"

namespace lull::stack::LULL_KERNEL_LEVEL {

namespace {

constexpr float kTiny = 1e-20F;

// Four complex numbers, re and im by turns.
constexpr int kComplex = 4;

// Written out: of a plain loop GCC makes products that are not rounded before they are added, where
// the instruction set has them.
void cross_block(const float* frame, const float* reference, float share, float* out) {
  const Floats sign = {1, -1, 1, -1, 1, -1, 1, -1};
  const Floats f = load(frame);
  const Floats s = 1 / (1 - share) * (load(reference) - share * f);
  const Floats re = __builtin_shufflevector(s, s, 0, 0, 2, 2, 4, 4, 6, 6);
  const Floats im = __builtin_shufflevector(s, s, 1, 1, 3, 3, 5, 5, 7, 7);
  const Floats turned = sign * __builtin_shufflevector(f, f, 1, 0, 3, 2, 5, 4, 7, 6);
  store(f * re + turned * im, out);
}

}  // namespace

void cross_power(const float* frame, const float* reference, float share, int bins, float* out) {
  int start = 0;
  for (; start + kComplex <= bins; start += kComplex)
    cross_block(frame + 2 * start, reference + 2 * start, share, out + 2 * start);
  if (start == bins) return;
  float last_frame[2 * kComplex] = {};
  float last_reference[2 * kComplex] = {};
  float last_out[2 * kComplex] = {};
  for (int i = 2 * start; i < 2 * bins; ++i) {
    last_frame[i - 2 * start] = frame[i];
    last_reference[i - 2 * start] = reference[i];
  }
  cross_block(last_frame, last_reference, share, last_out);
  for (int i = 2 * start; i < 2 * bins; ++i) out[i] = last_out[i - 2 * start];
}

void divide_by_power(float* LULL_RESTRICT values, const float* LULL_RESTRICT power, int bins) {
  for (int i = 0; i < bins; ++i) {
    const float divisor = power[i] + kTiny;
    values[2 * i] /= divisor;
    values[2 * i + 1] /= divisor;
  }
}

void add_fused(const float* LULL_RESTRICT frame, const float* LULL_RESTRICT transfer,
               const float* LULL_RESTRICT mean, const float* LULL_RESTRICT share, float weight,
               int bins, float* LULL_RESTRICT light, float* LULL_RESTRICT power) {
  for (int i = 0; i < bins; ++i) {
    const float h_re = mean[i] + share[i] * (transfer[2 * i] - mean[i]);
    const float h_im = share[i] * transfer[2 * i + 1];
    const float scale = weight * mean[i];
    const float f_re = frame[2 * i];
    const float f_im = frame[2 * i + 1];
    light[2 * i] += scale * (h_re * f_re + h_im * f_im);
    light[2 * i + 1] += scale * (h_re * f_im - h_im * f_re);
    power[i] += weight * (h_re * h_re + h_im * h_im);
  }
}

}  // namespace lull::stack::LULL_KERNEL_LEVEL
