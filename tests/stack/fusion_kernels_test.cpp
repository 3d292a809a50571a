#include "stack/fusion_kernels.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <cstddef>
#include <random>
#include <vector>

#include "spectrum/fft.h"

using namespace lull;
using spectrum::reals;

TEST_SUITE("stack/fusion_kernels") {
  namespace {

  using Bins = std::vector<std::complex<float>>;

  Bins random_bins(std::size_t count, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> value(0, 1);
    Bins bins(count);
    for (auto& bin : bins) bin = {value(random), value(random)};
    return bins;
  }

  std::complex<double> wide(std::complex<float> value) { return {value}; }

  }  // namespace

  // By the complex numbers of the C++ library, in double.
  TEST_CASE("products, quotients and sums are those of complex numbers, the same for each set") {
    for (const int count : {1, 2, 5, 7, 8, 16, 49, 102}) {
      CAPTURE(count);
      const auto size = static_cast<std::size_t>(count);
      const Bins f = random_bins(size, 1);
      const Bins s = random_bins(size, 2);
      Bins cross(size);
      Bins plain(size);
      stack::kernels::cross_power()(reals(f.data()), reals(s.data()), 0.3F, count,
                                    reals(cross.data()));
      stack::baseline::cross_power(reals(f.data()), reals(s.data()), 0.3F, count,
                                   reals(plain.data()));
      CHECK(cross == plain);
      const std::vector<float> power(size, 2.5F);
      Bins h = cross;
      stack::kernels::divide_by_power()(reals(h.data()), power.data(), count);
      const std::vector<float> mean(size, 0.6F);
      const std::vector<float> share(size, 0.4F);
      Bins light(size, {1, -1});
      std::vector<float> sum(size, 2);
      stack::kernels::add_fused()(reals(f.data()), reals(h.data()), mean.data(), share.data(), 0.7F,
                                  count, reals(light.data()), sum.data());
      Bins plain_light(size, {1, -1});
      std::vector<float> plain_sum(size, 2);
      stack::baseline::add_fused(reals(f.data()), reals(h.data()), mean.data(), share.data(), 0.7F,
                                 count, reals(plain_light.data()), plain_sum.data());
      CHECK(light == plain_light);
      CHECK(sum == plain_sum);
      for (std::size_t i = 0; i < size; ++i) {
        const auto expected = wide(f[i]) * std::conj((wide(s[i]) - 0.3 * wide(f[i])) / 0.7);
        CHECK(std::abs(wide(cross[i]) - expected) < 1e-5);
        CHECK(std::abs(wide(h[i]) - expected / 2.5) < 1e-5);
        const auto drawn = 0.6 + 0.4 * (expected / 2.5 - 0.6);
        const auto light_sum = std::complex<double>(1, -1) + 0.42 * std::conj(drawn) * wide(f[i]);
        CHECK(std::abs(wide(light[i]) - light_sum) < 1e-5);
        CHECK(std::abs(static_cast<double>(sum[i]) - (2 + 0.7 * std::norm(drawn))) < 1e-5);
      }
    }
  }
}
