#include "stack/keep_choice.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

TEST_SUITE("stack/keep_choice") {
  namespace {

  using namespace lull;
  using stack::KeepChoice;

  // Rings of half stacks: detail of power t^2 O in each, and noise. The halves share the detail.
  std::vector<spectrum::RingSums> halves(const std::vector<double>& scene,
                                         const std::vector<double>& transfer, double noise) {
    std::vector<spectrum::RingSums> rings;
    rings.reserve(scene.size());
    for (std::size_t k = 0; k < scene.size(); ++k) {
      const double detail = transfer[k] * transfer[k] * scene[k];
      rings.push_back(
          {0.05 * (static_cast<double>(k) + 0.5), detail, detail + noise, detail + noise, 100});
    }
    return rings;
  }

  // Mean squares per unit of O of a Wiener filter on the whole stack, whose noise is half that of a
  // half: for signal power S and noise power N the error is N / (S + N) (Wiener 1949; Press et al.,
  // Numerical Recipes, section 13.3).
  double wiener_error(double signal, double noise_of_half) {
    return 0.5 * noise_of_half / (signal + 0.5 * noise_of_half);
  }

  const std::vector<double> kScene = {50, 10, 4, 2};

  }  // namespace

  TEST_CASE(
      "the part of noise is the error of the Wiener filter, that of blur follows the logarithm") {
    const std::vector<double> first = {1, 0.8, 0.6, 0.5};
    const std::vector<double> second = {1, 0.6, 0.5, 0.3};
    KeepChoice choice([&first](double f) { return first[static_cast<std::size_t>(f / 0.05)]; });
    choice.add(halves(kScene, first, 0.2));
    choice.add(halves(kScene, second, 0.05));
    const auto errors = choice.errors();
    REQUIRE(errors.size() == 2);
    // By hand, from the definitions; the coarsest ring does not count.
    const auto expect = [](const std::vector<double>& transfer, double noise_of_half) {
      double whole = 0;
      double noise = 0;
      double blur = 0;
      for (std::size_t k = 1; k < kScene.size(); ++k) {
        const double lost = wiener_error(transfer[k] * transfer[k] * kScene[k], noise_of_half);
        const double off = 0.1 * std::log(transfer[k]) * (1 - lost);
        whole += kScene[k];
        noise += kScene[k] * lost;
        blur += kScene[k] * off * off;
      }
      return stack::ExpectedError{std::sqrt(noise / whole), std::sqrt(blur / whole)};
    };
    CHECK(errors[0].noise == doctest::Approx(expect(first, 0.2).noise));
    CHECK(errors[0].blur == doctest::Approx(expect(first, 0.2).blur));
    CHECK(errors[1].noise == doctest::Approx(expect(second, 0.05).noise));
    CHECK(errors[1].blur == doctest::Approx(expect(second, 0.05).blur));
    CHECK(errors[1].total() == doctest::Approx(std::hypot(errors[1].noise, errors[1].blur)));
  }

  TEST_CASE(
      "without blur more frames are better; where they blur they are not; two are looked at") {
    const std::vector<double> sharp = {1, 0.9, 0.9, 0.9};
    const std::vector<double> soft = {1, 0.5, 0.4, 0.3};
    const auto transfer = [](double) { return 0.9; };
    KeepChoice noisy(transfer);
    for (const double noise : {0.4, 0.2, 0.1, 0.05}) {
      noisy.add(halves(kScene, sharp, noise));
      CHECK(noisy.last_is_best());
      CHECK_FALSE(noisy.settled());
    }
    KeepChoice blurred(transfer);
    blurred.add(halves(kScene, sharp, 0.01));
    blurred.add(halves(kScene, soft, 0.005));
    CHECK_FALSE(blurred.last_is_best());
    CHECK_FALSE(blurred.settled());
    blurred.add(halves(kScene, soft, 0.0025));
    CHECK(blurred.settled());
  }

  // The mean of n stacks has the nth part of their noise.
  TEST_CASE("one of four pieces is judged by the noise of their mean") {
    const std::vector<double> flat = {1, 1, 1, 1};
    KeepChoice piece([](double) { return 1.0; }, 4);
    piece.add(halves(kScene, flat, 0.4));
    KeepChoice mean([](double) { return 1.0; });
    mean.add(halves(kScene, flat, 0.1));
    CHECK(piece.errors()[0].noise == doctest::Approx(mean.errors()[0].noise));
  }

  // Detail that only more frames show counts as lost in fewer.
  TEST_CASE("a fine ring that the first stack loses in noise speaks for the second") {
    KeepChoice choice([](double) { return 1.0; });
    auto first = halves(kScene, {1, 1, 1, 1}, 0.1);
    first[3].cross = 0;
    choice.add(first);
    CHECK(choice.errors()[0].noise ==
          doctest::Approx(std::sqrt((10 * wiener_error(10, 0.1) + 4 * wiener_error(4, 0.1)) / 14)));
    choice.add(halves(kScene, {1, 1, 1, 1}, 0.1));
    CHECK(choice.last_is_best());
    CHECK(choice.errors()[0].noise ==
          doctest::Approx(
              std::sqrt((10 * wiener_error(10, 0.1) + 4 * wiener_error(4, 0.1) + 2) / 16)));
  }

  TEST_CASE("where the halves share nothing as many frames as there are are kept") {
    KeepChoice choice([](double) { return 0.5; });
    for (int i = 0; i < 4; ++i) {
      choice.add(halves({0, 0, 0, 0}, {1, 1, 1, 1}, 1));
      CHECK(choice.last_is_best());
    }
    CHECK_FALSE(choice.settled());
  }
}
