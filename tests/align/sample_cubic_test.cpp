#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <random>
#include <vector>

#include "align/field_kernels.h"
#include "core/cpu.h"

namespace {

using namespace lull;

constexpr int kSide = 64;
constexpr int kMargin = 4;
constexpr std::ptrdiff_t kStride = kSide + 2 * kMargin;

std::vector<float> noise_image() {
  std::mt19937 random(7);
  std::uniform_real_distribution<float> light(0, 1);
  std::vector<float> image(static_cast<std::size_t>(kStride * kStride));
  for (float& value : image) value = light(random);
  return image;
}

// Keys 1981, IEEE Transactions on Acoustics, Speech, and Signal Processing 29, 1153, equation 15.
double keys(double s) {
  s = std::abs(s);
  if (s < 1) return 1.5 * s * s * s - 2.5 * s * s + 1;
  return s < 2 ? -0.5 * s * s * s + 2.5 * s * s - 4 * s + 2 : 0;
}

double by_the_book(const float* origin, double x, double y) {
  double sum = 0;
  const int from_x = static_cast<int>(std::floor(x)) - 1;
  const int from_y = static_cast<int>(std::floor(y)) - 1;
  for (int j = from_y; j < from_y + 4; ++j) {
    for (int i = from_x; i < from_x + 4; ++i)
      sum += static_cast<double>(origin[j * kStride + i]) * keys(x - i) * keys(y - j);
  }
  return sum;
}

struct Row {
  std::vector<float> x;
  std::vector<float> y;
};

// Places that are `spacing` apart and drift from one another.
Row row_of(float spacing, float drift_x, float drift_y, int count) {
  Row row;
  for (int i = 0; i < count; ++i) {
    const auto at = static_cast<float>(i);
    row.x.push_back(0.3F + at * (spacing + drift_x));
    row.y.push_back(20.4F + at * drift_y);
  }
  return row;
}

void check_rows(CpuLevel level) {
  set_cpu_level(level);
  const std::vector<float> image = noise_image();
  const float* origin = image.data() + kMargin * kStride + kMargin;
  const auto sample = [&](const float* x, const float* y, int count, float* out) {
    align::kernels::sample_cubic()(origin, kStride, x, y, count, kSide, kSide, out);
  };
  for (const float spacing : {1.0F, 2.0F, 2.9F}) {
    for (const float drift_x : {0.0F, 0.06F, -0.06F, 0.3F}) {
      for (const float drift_y : {0.0F, 0.07F, -0.4F}) {
        CAPTURE(spacing);
        CAPTURE(drift_x);
        CAPTURE(drift_y);
        const int count = 19;
        const Row row = row_of(spacing, drift_x, drift_y, count);
        std::vector<float> together(count);
        sample(row.x.data(), row.y.data(), count, together.data());
        for (std::size_t i = 0; i < together.size(); ++i) {
          float alone = 0;
          sample(&row.x[i], &row.y[i], 1, &alone);
          CHECK(together[i] == alone);
          CHECK(std::abs(static_cast<double>(together[i]) -
                         by_the_book(origin, static_cast<double>(row.x[i]),
                                     static_cast<double>(row.y[i]))) < 1e-5);
        }
      }
    }
  }
}

}  // namespace

TEST_SUITE("align/sample_cubic") {
  TEST_CASE("rows of places near each other and far apart are sampled as the book says") {
    const CpuLevel best = cpu_level();
    for (const CpuLevel level : {CpuLevel::baseline, CpuLevel::avx2, CpuLevel::avx512}) {
      if (level <= best) check_rows(level);
    }
    set_cpu_level(best);
  }
}
