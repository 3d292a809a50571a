// Compiled once for each instruction set: see quality/row_kernels.cpp.
#include "core/kernel_lanes.h"

namespace lull::spectrum::LULL_KERNEL_LEVEL {

namespace {

// Sums of every so many values are independent, so that additions overlap; the same for each
// instruction set.
constexpr int kLanes = 16;

template <class Term>
float sum_of(int count, const Term& term) {
  float lanes[kLanes] = {};
  int i = 0;
  for (; i + kLanes <= count; i += kLanes) {
    for (int k = 0; k < kLanes; ++k) lanes[k] += term(i + k);
  }
  for (; i < count; ++i) lanes[i % kLanes] += term(i);
  float sum = 0;
  for (const float lane : lanes) sum += lane;
  return sum;
}

// Four complex numbers, re and im by turns.
constexpr int kComplex = 4;

// The last of the four first, each with its imaginary part negated.
inline Floats reversed_conjugates(Floats v) {
  const Floats sign = {1, -1, 1, -1, 1, -1, 1, -1};
  return sign * __builtin_shufflevector(v, v, 6, 7, 4, 5, 2, 3, 0, 1);
}

}  // namespace

void mix_ends(float* row, const float* turns, float share, int half) {
  int k = 1;
  for (; 2 * (k + kComplex) - 1 <= half; k += kComplex) {
    float* low = row + 2 * k;
    float* high = row + 2 * (half - k - kComplex + 1);
    const Floats a = load(low);
    const Floats b = reversed_conjugates(load(high));
    const Floats first = load(turns + 4 * k);
    const Floats second = load(turns + 4 * k + 8);
    const Floats re = __builtin_shufflevector(first, second, 0, 1, 4, 5, 8, 9, 12, 13);
    const Floats im = __builtin_shufflevector(first, second, 2, 3, 6, 7, 10, 11, 14, 15);
    const Floats p = share * (a + b);
    const Floats d = a - b;
    const Floats q = re * d + im * __builtin_shufflevector(d, d, 1, 0, 3, 2, 5, 4, 7, 6);
    store(p + q, low);
    store(reversed_conjugates(p - q), high);
  }
  for (; 2 * k <= half; ++k) {
    float* low = row + 2 * k;
    float* high = row + 2 * (half - k);
    const float* turn = turns + 4 * k;
    const float p_re = share * (low[0] + high[0]);
    const float p_im = share * (low[1] - high[1]);
    const float d_re = low[0] - high[0];
    const float d_im = low[1] + high[1];
    const float q_re = turn[0] * d_re + turn[2] * d_im;
    const float q_im = turn[1] * d_im + turn[3] * d_re;
    low[0] = p_re + q_re;
    low[1] = p_im + q_im;
    high[0] = p_re - q_re;
    high[1] = q_im - p_im;
  }
}

void weighted_sum(const float* value, float base, const float* weight, int count, float* sum) {
  *sum = sum_of(count, [&](int i) { return weight[i] * (value[i] - base); });
}

void squared_window_sum(const float* value, const float* weight, int count, float* sum) {
  *sum = sum_of(count,
                [&](int i) { return weight[i] * weight[i] * (value[i] > 0.0F ? value[i] : 0.0F); });
}

void apply_window(const float* in, float mean, float factor, const float* weight, int count,
                  float* out) {
  for (int i = 0; i < count; ++i) out[i] = (in[i] - mean) * factor * weight[i];
}

}  // namespace lull::spectrum::LULL_KERNEL_LEVEL
