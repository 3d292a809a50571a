#include "lab/random.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <vector>

using lull::lab::Random;

namespace {

struct Moments {
  double mean = 0;
  double variance = 0;
  double third = 0;  ///< central
};

template <class Draw>
Moments moments(int count, const Draw& draw) {
  std::vector<double> values;
  values.reserve(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) values.push_back(draw());
  Moments m;
  for (const double v : values) m.mean += v / count;
  for (const double v : values) {
    m.variance += (v - m.mean) * (v - m.mean) / (count - 1);
    m.third += std::pow(v - m.mean, 3) / count;
  }
  return m;
}

}  // namespace

TEST_SUITE("lab/random") {
  // Moments of the Poisson distribution: mean = variance = third central moment (any textbook of
  // statistics, such as Johnson, Kemp & Kotz, Univariate Discrete Distributions, section 4.3).
  TEST_CASE("Poisson numbers have equal mean, variance and third moment") {
    constexpr int kCount = 200000;
    for (const double mean : {0.3, 4.0, 9.9, 10.1, 75.0, 8000.0}) {
      CAPTURE(mean);
      Random random({7, static_cast<std::uint64_t>(mean * 10)});
      const Moments m = moments(kCount, [&] { return random.poisson(mean); });
      // Four standard errors each; var(s^2) = (m + 2 m^2) / N for Poisson numbers.
      CHECK(std::abs(m.mean - mean) < 4 * std::sqrt(mean / kCount));
      CHECK(std::abs(m.variance - mean) < 4 * std::sqrt((mean + 2 * mean * mean) / kCount));
      CHECK(std::abs(m.third - mean) <
            4 * std::sqrt((mean + 25 * mean * mean + 15 * mean * mean * mean) / kCount));
    }
    Random random({1});
    CHECK(random.poisson(0) == 0);
    CHECK(random.poisson(-1) == 0);
  }

  TEST_CASE("normal numbers have mean 0, variance 1, no skew") {
    constexpr int kCount = 400000;
    Random random({3, 4});
    const Moments m = moments(kCount, [&] { return random.normal(); });
    CHECK(std::abs(m.mean) < 4 / std::sqrt(kCount));
    CHECK(std::abs(m.variance - 1) < 4 * std::sqrt(2.0 / kCount));
    CHECK(std::abs(m.third) < 4 * std::sqrt(15.0 / kCount));
  }

  TEST_CASE("a key gives the same numbers again, another key others") {
    Random a({1, 2, 3});
    Random b({1, 2, 3});
    Random c({1, 3, 2});
    const auto first = a.bits();
    CHECK(first == b.bits());
    CHECK(first != c.bits());
  }
}
