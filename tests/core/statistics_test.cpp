#include "core/statistics.h"

#include <doctest/doctest.h>

#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "support/run_program.h"

using namespace lull;

TEST_SUITE("core/statistics") {
  TEST_CASE("quantiles are those of NumPy, methods linear, lower and higher") {
    std::istringstream in(test::reference_of("core/quantiles.py", {}));
    std::size_t n = 0;
    int samples = 0;
    while (in >> n) {
      std::vector<double> values(n);
      for (double& value : values) in >> value;
      double share = 0;
      double linear = 0;
      double lower = 0;
      double higher = 0;
      in >> share >> linear >> lower >> higher;
      REQUIRE(in.good());
      CAPTURE(n);
      CAPTURE(share);
      CHECK(std::abs(quantile(values, share) - linear) < 1e-13);  // rounding, of values up to 5
      std::vector<double> sorted = values;
      std::sort(sorted.begin(), sorted.end());
      CHECK(quantile_of_sorted(sorted, share) == quantile(values, share));
      std::vector<double> spent = values;
      CHECK(lower_quantile(spent, share) == lower);
      if (share == 0.5) {
        CHECK(std::abs(median(values) - linear) < 1e-13);
        CHECK(upper_median(spent) == higher);
      }
      ++samples;
    }
    CHECK(samples == 9 * 2 * 8);
  }

  // The example of NumPy's manual, numpy.quantile: [[10, 7, 4], [3, 2, 1]] at 0.5.
  TEST_CASE("of an even number, the median is the mean of the middle two: 3.5") {
    CHECK(median(std::vector<double>{10, 7, 4, 3, 2, 1}) == 3.5);
    CHECK(upper_median(std::vector<double>{10, 7, 4, 3, 2, 1}) == 4);
    CHECK(median(std::vector<float>{2.0F, 1.0F}) == 1.5F);
    CHECK(median(std::vector<double>{}) == 0);
  }

  TEST_CASE("a quantile lies within its neighbours where they are equal or far apart") {
    CHECK(quantile(std::vector<double>{0.1, 0.1, 0.1}, 0.3) == 0.1);
    CHECK(quantile(std::vector<double>{-1e300, 1e300}, 0.5) == 0);
    CHECK(quantile(std::vector<float>{16777216.0F, 16777218.0F}, 0.5) == 16777216.0F);
  }

  // The upper quartile of the normal distribution is 0.6744898 (NIST/SEMATECH e-Handbook of
  // Statistical Methods, table of the cumulative normal distribution, gives 0.674 to 0.675).
  TEST_CASE("the factor from the median absolute deviation to sigma is 1 over 0.6744898") {
    CHECK(std::abs(kMadToSigma * 0.6744898 - 1) < 5e-7);
    CHECK(std::abs(std::erf(1 / kMadToSigma / std::sqrt(2.0)) - 0.5) < 5e-7);
  }

  // The example of R's manual, mad(c(1:9)): 2.9652, with the factor 1.4826.
  TEST_CASE("sigma of 1 to 9 about their median is 2 median absolute deviations") {
    const std::vector<double> values{9, 1, 8, 2, 7, 3, 6, 4, 5};
    CHECK(median(values) == 5);
    CHECK(std::abs(sigma_about(values, 5.0) - 2.9652) < 1e-5);
  }

  // The standard error of this estimate is 1.17 sigma over the root of n (asymptotic efficiency
  // 0.37: Rousseeuw & Croux 1993, J. Am. Stat. Assoc. 88, 1273): 0.0037 here; five of these.
  TEST_CASE("sigma of a Gaussian is found although a tenth of the values are wild") {
    std::mt19937_64 random(4711);
    std::normal_distribution<double> normal(100, 3);
    std::vector<double> values(100000);
    for (double& value : values) value = normal(random);
    CHECK(std::abs(sigma_about(values, median(values)) / 3 - 1) < 5 * 0.0037);
    for (std::size_t i = 0; i < values.size(); i += 10) values[i] = 1e6;
    // 5/9 of the others are then nearer than the median deviation: 0.765 sigma instead of 0.674.
    CHECK(sigma_about(values, median(values)) / 3 < 1.25);
  }

  TEST_CASE("a test twice as long: 0.5 becomes 2/3 (Spearman 1910, Brown 1910)") {
    CHECK(std::abs(reliability_of_whole(0.5) - 2.0 / 3.0) < 1e-15);
    CHECK(reliability_of_whole(1) == 1);
    CHECK(reliability_of_whole(-0.3) == 0);
    CHECK(std::isnan(reliability_of_whole(std::nan(""))));
  }
}
