#include "spectrum/window_kernels.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

using namespace lull;

TEST_SUITE("spectrum/window_kernels") {
  TEST_CASE("sums are those in double, and the same to the bit for each instruction set") {
    for (const int count : {1, 7, 16, 17, 96, 128, 131}) {
      CAPTURE(count);
      std::vector<float> value;
      std::vector<float> weight;
      double sum = 0;
      double squares = 0;
      for (int i = 0; i < count; ++i) {
        value.push_back(static_cast<float>(0.4 + 0.5 * std::sin(1.7 * i)));
        weight.push_back(static_cast<float>(0.5 - 0.5 * std::cos(0.1 * i)));
        const auto v = static_cast<double>(value.back());
        const auto w = static_cast<double>(weight.back());
        sum += w * (v - 0.25);
        squares += w * w * std::max(v, 0.0);
      }
      float here = 0;
      float plain = 0;
      spectrum::kernels::weighted_sum()(value.data(), 0.25F, weight.data(), count, &here);
      spectrum::baseline::weighted_sum(value.data(), 0.25F, weight.data(), count, &plain);
      CHECK(here == plain);
      CHECK(std::abs(static_cast<double>(here) - sum) < 1e-5);
      spectrum::kernels::squared_window_sum()(value.data(), weight.data(), count, &here);
      spectrum::baseline::squared_window_sum(value.data(), weight.data(), count, &plain);
      CHECK(here == plain);
      CHECK(std::abs(static_cast<double>(here) - squares) < 1e-5);
      std::vector<float> out(value.size());
      spectrum::kernels::apply_window()(value.data(), 0.25F, 0.5F, weight.data(), count,
                                        out.data());
      for (std::size_t i = 0; i < out.size(); ++i)
        CHECK(out[i] == (value[i] - 0.25F) * 0.5F * weight[i]);
    }
  }
}
