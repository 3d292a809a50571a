// Compiled once for each instruction set: see quality/row_kernels.cpp.
#include <stddef.h>

namespace lull::align::LULL_KERNEL_LEVEL {

namespace {

struct Cubic {
  float before, here, after, beyond;
};

// Keys 1981, IEEE Transactions on Acoustics, Speech, and Signal Processing 29, 1153; a = -1/2.
inline Cubic cubic_weights(float t) {
  const float t2 = t * t;
  const float t3 = t2 * t;
  return {-0.5F * t3 + t2 - 0.5F * t, 1.5F * t3 - 2.5F * t2 + 1.0F,
          -1.5F * t3 + 2.0F * t2 + 0.5F * t, 0.5F * t3 - 0.5F * t2};
}

inline float limited(float value, float limit) {
  const float low = value < -1.0F ? -1.0F : value;
  return low > limit ? limit : low;
}

inline float weighted(const float* at, const Cubic& w) {
  return w.before * at[0] + w.here * at[1] + w.after * at[2] + w.beyond * at[3];
}

}  // namespace

void sample_cubic(const float* origin, ptrdiff_t stride_elems, const float* x, const float* y,
                  int count, float limit_x, float limit_y, float* out) {
  // Indices are taken from the first readable sample, so that they are never negative.
  const int stride = static_cast<int>(stride_elems);
  const float* first = origin - 2 * stride_elems - 2;
  for (int i = 0; i < count; ++i) {
    const float px = limited(x[i], limit_x) + 1.0F;
    const float py = limited(y[i], limit_y) + 1.0F;
    const int ix = static_cast<int>(px);
    const int iy = static_cast<int>(py);
    const Cubic wx = cubic_weights(px - static_cast<float>(ix));
    const Cubic wy = cubic_weights(py - static_cast<float>(iy));
    const float* at = first + iy * stride + ix;
    out[i] = wy.before * weighted(at, wx) + wy.here * weighted(at + stride, wx) +
             wy.after * weighted(at + 2 * stride, wx) + wy.beyond * weighted(at + 3 * stride, wx);
  }
}

void add_products(const float* frame, const float* reference, const float* gradient_x,
                  const float* gradient_y, const float* valid, float gain, int count, float* sums,
                  ptrdiff_t pitch) {
  float* sum_e = sums;
  float* sum_ex = sums + pitch;
  float* sum_ey = sums + 2 * pitch;
  float* sum_ee = sums + 3 * pitch;
  for (int i = 0; i < count; ++i) {
    const float e = valid[i] * (gain * frame[i] - reference[i]);
    sum_e[i] += e;
    sum_ex[i] += e * gradient_x[i];
    sum_ey[i] += e * gradient_y[i];
    sum_ee[i] += e * e;
  }
}

}  // namespace lull::align::LULL_KERNEL_LEVEL
