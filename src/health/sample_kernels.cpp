// Compiled once for each instruction set: see quality/row_kernels.cpp.
#include <stdint.h>

#include "core/kernel_lanes.h"

namespace lull::health::LULL_KERNEL_LEVEL {

namespace {

template <class T>
inline T higher(T a, T b) {
  return a > b ? a : b;
}

template <class T>
void strip(const T* const* rows, int width, int* LULL_RESTRICT sums, int* LULL_RESTRICT most) {
  const T* LULL_RESTRICT a = rows[0];
  const T* LULL_RESTRICT b = rows[1];
  const T* LULL_RESTRICT c = rows[2];
  const T* LULL_RESTRICT d = rows[3];
  const T* LULL_RESTRICT e = rows[4];
  const T* LULL_RESTRICT f = rows[5];
  for (int x = 0; x < width; ++x) {
    sums[x] = a[x] + b[x] + c[x] + d[x] + e[x] + f[x];
    most[x] = higher(higher(higher(a[x], b[x]), higher(c[x], d[x])), higher(e[x], f[x]));
  }
}

}  // namespace

void strip_u8(const uint8_t* const* rows, int width, int* sums, int* most) {
  strip(rows, width, sums, most);
}

void strip_u16(const uint16_t* const* rows, int width, int* sums, int* most) {
  strip(rows, width, sums, most);
}

void add_scatter(const float* LULL_RESTRICT values, const float* LULL_RESTRICT mean, int bins,
                 float* LULL_RESTRICT sums) {
  for (int i = 0; i < bins; ++i) {
    const float re = values[2 * i] - mean[2 * i];
    const float im = values[2 * i + 1] - mean[2 * i + 1];
    sums[i] += re * re + im * im;
  }
}

}  // namespace lull::health::LULL_KERNEL_LEVEL
