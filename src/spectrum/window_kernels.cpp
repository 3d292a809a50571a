// Compiled once for each instruction set: see quality/row_kernels.cpp.

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

}  // namespace

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
