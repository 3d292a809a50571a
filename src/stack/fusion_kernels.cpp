// Compiled once for each instruction set: see quality/row_kernels.cpp.

// Arrays never overlap; without this promise the loops are not vectorised.
#define LULL_RESTRICT __restrict__

namespace lull::stack::LULL_KERNEL_LEVEL {

namespace {

constexpr float kTiny = 1e-20F;

}  // namespace

void cross_power(const float* LULL_RESTRICT frame, const float* LULL_RESTRICT reference,
                 float share, int bins, float* LULL_RESTRICT out) {
  const float rest = 1 / (1 - share);
  for (int i = 0; i < bins; ++i) {
    const float f_re = frame[2 * i];
    const float f_im = frame[2 * i + 1];
    const float s_re = rest * (reference[2 * i] - share * f_re);
    const float s_im = rest * (reference[2 * i + 1] - share * f_im);
    out[2 * i] = f_re * s_re + f_im * s_im;
    out[2 * i + 1] = f_im * s_re - f_re * s_im;
  }
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
