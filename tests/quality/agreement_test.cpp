#include "quality/agreement.h"

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::quality;
using Values = std::vector<double>;

struct Pair {
  Values truth, score;
  Values ranks;  ///< of score
  double rho = 0;
  double tau = 0;
  double loss_at_tenth = 0;
};

Values read_values(std::istream& file, std::size_t count) {
  Values values(count);
  for (double& value : values) file >> value;
  return values;
}

// From SciPy.
std::vector<Pair> pairs_of_scipy(int seed) {
  const lull::test::TemporaryFolder folder;
  lull::test::reference_of("quality/agreement.py", {folder.file("pairs"), std::to_string(seed)});
  std::vector<Pair> pairs;
  std::ifstream file(folder / "pairs");
  for (std::size_t count = 0; file >> count;) {
    Pair& pair = pairs.emplace_back();
    pair.truth = read_values(file, count);
    pair.score = read_values(file, count);
    pair.ranks = read_values(file, count);
    file >> pair.rho >> pair.tau >> pair.loss_at_tenth;
  }
  REQUIRE(file.eof());
  return pairs;
}

}  // namespace

TEST_SUITE("quality/agreement") {
  TEST_CASE("examples of SciPy's documentation") {
    // scipy.stats 1.10, docstrings of rankdata, spearmanr and kendalltau.
    CHECK(mid_ranks(Values{0, 2, 3, 2}) == Values{1, 2.5, 4, 2.5});
    CHECK(std::abs(spearman(Values{1, 2, 3, 4, 5}, Values{5, 6, 7, 8, 7}) - 0.82078268) < 1e-8);
    CHECK(std::abs(kendall_tau_b(Values{12, 2, 1, 12, 2}, Values{1, 4, 7, 1, 0}) +
                   0.47140452079103173) < 1e-14);
  }

  TEST_CASE("rho, tau-b, ranks and loss are SciPy's and NumPy's, with ties and without") {
    const auto pairs = pairs_of_scipy(20260411);
    CHECK(pairs.size() == 32);
    for (const Pair& pair : pairs) {
      CAPTURE(pair.truth.size());
      // Doubles: rounding of at most 1000 terms.
      CHECK(std::abs(spearman(pair.truth, pair.score) - pair.rho) < 1e-12);
      CHECK(std::abs(spearman(pair.score, pair.truth) - pair.rho) < 1e-12);
      CHECK(std::abs(kendall_tau_b(pair.truth, pair.score) - pair.tau) < 1e-12);
      CHECK(std::abs(kendall_tau_b(pair.score, pair.truth) - pair.tau) < 1e-12);
      CHECK(mid_ranks(pair.score) == pair.ranks);
      CHECK(std::abs(kept_loss(pair.score, pair.truth, 0.1) - pair.loss_at_tenth) < 1e-12);
    }
  }

  TEST_CASE(
      "the loss by hand: the best two of five are 0.9 and 0.7, the choice takes 0.9 and 0.5") {
    const Values truth = {0.1, 0.9, 0.5, 0.7, 0.3};
    const Values scores = {1, 5, 4, 3, 2};
    CHECK(std::abs(kept_loss(scores, truth, 0.4) - (1 - 1.4 / 1.6)) < 1e-15);
    CHECK(kept_loss(scores, truth, 0.01) == 0);  // at least one, and that is the best
    CHECK(kept_loss(truth, truth, 0.4) == 0);
    CHECK(std::abs(kept_loss(scores, truth, 1)) < 1e-15);  // all, summed in another order
    // Equal scores go by position: the first two.
    CHECK(std::abs(kept_loss(Values(5, 1.0), truth, 0.4) - (1 - 1.0 / 1.6)) < 1e-15);
  }

  TEST_CASE("no answer where there is no ranking") {
    CHECK(std::isnan(spearman(Values{1, 1, 1}, Values{1, 2, 3})));
    CHECK(std::isnan(kendall_tau_b(Values{1, 2, 3}, Values{4, 4, 4})));
    CHECK(std::isnan(spearman(Values{1}, Values{1})));
    CHECK(std::isnan(kendall_tau_b(Values{}, Values{})));
    CHECK(std::isnan(kept_loss(Values{1, 2}, Values{0, 0}, 0.5)));
  }

  TEST_CASE("the interval of rho holds the true rho in 95 of 100 samples") {
    // Truth: for a bivariate normal distribution of correlation r, Spearman's rho is
    // 6 / pi * asin(r / 2) (Pearson 1907, from memory). Bonett & Wright 2000 find 94% to 96% at
    // these sizes (from memory); 3000 samples have a standard error of 0.4%.
    for (const double correlation : {0.0, 0.5, 0.8}) {
      const auto seed = 20261129U;
      CAPTURE(correlation);
      CAPTURE(seed);
      std::mt19937 random(seed);
      std::normal_distribution<double> normal;
      const double truth = 6 / std::numbers::pi * std::asin(correlation / 2);
      constexpr int kSamples = 3000;
      constexpr std::size_t kPairs = 50;
      int held = 0;
      for (int n = 0; n < kSamples; ++n) {
        std::vector<double> a;
        std::vector<double> b;
        for (std::size_t i = 0; i < kPairs; ++i) {
          a.push_back(normal(random));
          b.push_back(correlation * a.back() +
                      std::sqrt(1 - correlation * correlation) * normal(random));
        }
        const auto interval = spearman_interval(spearman(a, b), kPairs);
        held += interval.low <= truth && truth <= interval.high ? 1 : 0;
      }
      CHECK(held > 0.935 * kSamples);
      CHECK(held < 0.965 * kSamples);
    }
    // Bonett & Wright 2000 by hand: z = 1.09861 +- 1.95996 sqrt((1 + 0.8^2 / 2) / 25).
    CHECK(spearman_interval(0.8, 28).low == doctest::Approx(0.57053).epsilon(1e-4));
    CHECK(spearman_interval(0.8, 28).high == doctest::Approx(0.91373).epsilon(1e-4));
    CHECK(std::isnan(spearman_interval(0.5, 3).low));
    CHECK(std::isnan(spearman_interval(std::nan(""), 30).high));
    CHECK(spearman_interval(1, 30).low == doctest::Approx(1));
  }
}
