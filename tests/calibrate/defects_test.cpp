#include "calibrate/defects.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "core/parallel.h"

using namespace lull;
using namespace lull::calibrate;

TEST_SUITE("calibrate/defects") {
  namespace {

  constexpr Size kSize{31, 21};

  Plane noisy_plane(double level, double sigma, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> noise(level, sigma);
    Plane plane(kSize);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) plane.row(y)[x] = static_cast<float>(noise(random));
    }
    return plane;
  }

  std::vector<std::uint16_t> ramp() {
    std::vector<std::uint16_t> samples;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        samples.push_back(static_cast<std::uint16_t>(1000 + 10 * x + 100 * y));
      }
    }
    return samples;
  }

  std::uint16_t& at(std::vector<std::uint16_t>& samples, int x, int y) {
    return samples[static_cast<std::size_t>(std::ptrdiff_t{y} * kSize.width_px + x)];
  }

  }  // namespace

  TEST_CASE("the robust sigma of a Gaussian is its sigma, whatever the outliers") {
    Plane plane = noisy_plane(500, 8, 1);
    for (int x = 0; x < 20; ++x) plane.row(3)[x] = 60000;
    const RobustLevel level = robust_level(plane.view());
    // 651 samples: the standard error of the median is 1.2533 s/sqrt(n), that of the MAD about
    // 1.17 s/sqrt(2n) * 1.4; bounds at 4 of them.
    CHECK(std::abs(level.median - 500) < 1.7);
    CHECK(std::abs(level.sigma - 8) < 1.6);
  }

  TEST_CASE("median and deviation of numbers worked by hand") {
    Plane plane(5, 1);
    for (int x = 0; x < 5; ++x) plane.row(0)[x] = static_cast<float>(x * x);  // 0 1 4 9 16
    const RobustLevel level = robust_level(plane.view());
    CHECK(level.median == doctest::Approx(4));  // deviations 4 3 0 5 12
    CHECK(level.sigma == doctest::Approx(4 * 1.482602));
  }

  TEST_CASE("hot pixels are found to the bound, in corners and in pairs too") {
    Plane dark = noisy_plane(100, 2, 2);
    dark.row(0)[0] = 300;
    dark.row(10)[15] = 300;
    dark.row(10)[16] = 300;
    dark.row(20)[30] = 145;  // above 8 sigma, but under the smallest excess
    DefectMask mask(kSize);
    CHECK(mark_hot(dark.view(), 1, 80, mask) == 3);
    CHECK(mask.at(0, 0));
    CHECK(mask.at(15, 10));
    CHECK(mask.at(16, 10));
    DefectMask strict(kSize);
    CHECK(mark_hot(dark.view(), 1, 20, strict) == 4);
  }

  // Sigma by hand: of values 100 + k with k from -10 to 10 in turn, the median deviation is 5, so
  // sigma is 7.413 and 8 of them are 59.3.
  TEST_CASE("a hot pixel is 8 sigma above the median of the dark, no less") {
    for (const auto& known : {std::pair{58, 0}, std::pair{61, 1}}) {  // bindings cannot be captured
      const int excess = known.first;
      const int hot = known.second;
      CAPTURE(excess);
      Plane dark(kSize);
      for (int y = 0; y < kSize.height_px; ++y)
        for (int x = 0; x < kSize.width_px; ++x)
          dark.row(y)[x] = static_cast<float>(100 + (5 * x + 8 * y) % 21 - 10);
      REQUIRE(robust_level(dark.view()).sigma == doctest::Approx(5 * 1.482602));
      for (int y = 6; y <= 14; ++y) std::fill_n(dark.row(y) + 11, 9, 100.0F);
      dark.row(10)[15] = static_cast<float>(100 + excess);
      DefectMask mask(kSize);
      CHECK(mark_hot(dark.view(), 1, 0, mask) == hot);
    }
  }

  TEST_CASE("a pixel that stands out of a dark corner, but not of the dark, is left alone") {
    Plane dark = noisy_plane(200, 2, 4);
    for (int y = 0; y < 8; ++y) std::fill_n(dark.row(y), 8, 20.0F);
    dark.row(3)[3] = 150;
    DefectMask mask(kSize);
    CHECK(mark_hot(dark.view(), 1, 80, mask) == 0);
    dark.row(3)[3] = 300;
    CHECK(mark_hot(dark.view(), 1, 80, mask) == 1);
  }

  TEST_CASE("the smooth glow of a corner is not taken for hot pixels") {
    Plane dark = noisy_plane(100, 2, 3);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        dark.row(y)[x] += static_cast<float>(1000 * std::exp(-(x * x + y * y) / 600.0));
      }
    }
    const double limit = robust_level(dark.view()).median + 80;
    int above = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      above +=
          static_cast<int>(std::count_if(dark.row(y), dark.row(y) + dark.width(),
                                         [&](float v) { return static_cast<double>(v) > limit; }));
    }
    CHECK(above > 100);
    DefectMask mask(kSize);
    CHECK(mark_hot(dark.view(), 1, 80, mask) == 0);
  }

  TEST_CASE("cold pixels are under half of their surroundings of the same colour") {
    Plane flat(kSize);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        // A mosaic whose colours differ threefold: without the step, all of one would be cold.
        flat.row(y)[x] = (x % 2 == 0 && y % 2 == 0) ? 300.0F : 1000.0F;
      }
    }
    flat.row(7)[9] = 450;
    flat.row(8)[10] = 160;  // of 300: more than half
    flat.row(12)[20] = 140;
    DefectMask mask(kSize);
    CHECK(mark_cold(flat.view(), 2, mask) == 2);
    CHECK(mask.at(9, 7));
    CHECK(mask.at(20, 12));
  }

  TEST_CASE("a pixel becomes the median of the 4 nearest of its colour") {
    for (const int step : {1, 2}) {
      CAPTURE(step);
      auto samples = ramp();
      const auto truth = samples;
      DefectMask mask(kSize);
      mask.mark(15, 10);
      at(samples, 15, 10) = 65535;
      // On a ramp the median of left, right, up, down is the ramp's own value.
      repair(plan_repairs(mask, step), 7, samples.data(), kSize.width_px);
      CHECK(samples == truth);
    }
  }

  TEST_CASE("numbers by hand: an uneven neighbour is outvoted, another defect not asked") {
    auto samples = ramp();
    at(samples, 10, 9) = 40000;  // an odd one among the 4: 40000 2100 2120 2210
    DefectMask mask(kSize);
    mask.mark(11, 9);
    repair(plan_repairs(mask, 1), 7, samples.data(), kSize.width_px);
    // Neighbours of (11,9): 40000, 2020, 1910, 2110; the middle two have the mean 2065.
    CHECK(at(samples, 11, 9) == 2065);
    // With (10,9) a defect too, the fourth is the first diagonal, (10,8) = 1900: 1900 1910 2020
    // 2110, and the mean of the middle two is 1965.
    mask.mark(10, 9);
    repair(plan_repairs(mask, 1), 7, samples.data(), kSize.width_px);
    CHECK(at(samples, 11, 9) == 1965);
  }

  TEST_CASE("half of a unit is rounded up: 10 and 13 make 12") {
    std::vector<std::uint16_t> samples(std::size_t{31} * 21, 10);
    at(samples, 15, 9) = at(samples, 15, 11) = 13;
    DefectMask mask(kSize);
    mask.mark(15, 10);
    repair(plan_repairs(mask, 1), 7, samples.data(), kSize.width_px);
    CHECK(at(samples, 15, 10) == 12);  // 10, 10, 13, 13: 11.5
  }

  TEST_CASE("corners repair from inside; without a good pixel in reach comes the given value") {
    auto samples = ramp();
    DefectMask mask(kSize);
    for (int y = 0; y < 12; ++y) {
      for (int x = 0; x < 12; ++x) mask.mark(x, y);
    }
    mask.mark(30, 20);
    const auto plan = plan_repairs(mask, 1);
    CHECK(plan.size() == 145);
    repair(plan, 7, samples.data(), kSize.width_px);
    CHECK(at(samples, 0, 0) == 7);
    CHECK(at(samples, 11, 5) >= 1600);  // row 5: 1500 + 10 x, from x = 12 on
    // (29,20) = 3290, (30,19) = 3200, (29,19) = 3190 and, first of two, (30,18) = 3100.
    CHECK(at(samples, 30, 20) == 3195);
  }

  TEST_CASE("the mask is the same on any number of threads") {
    Plane dark = noisy_plane(100, 30, 12);
    std::int64_t expected = -1;
    for (const int threads : {1, 2, 3, 8}) {
      set_thread_count(threads);
      DefectMask mask(kSize);
      const auto hot = mark_hot(dark.view(), 1, 20, mask) + mark_cold(dark.view(), 1, mask);
      if (expected < 0) expected = hot;
      CHECK(hot == expected);
    }
    set_thread_count(0);
    CHECK(expected > 0);
  }
}
