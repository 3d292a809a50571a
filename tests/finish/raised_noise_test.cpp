#include "finish/raised_noise.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

TEST_SUITE("finish/raised_noise") {
  namespace {

  using namespace lull;
  using namespace lull::finish;
  using Gains = std::vector<spectrum::FilterPoint>;

  constexpr double kSigma = 0.01;
  constexpr int kSide = 256;

  Plane white_noise(unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<float> normal(0, static_cast<float>(kSigma));
    Plane out(Size{kSide, kSide});
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x) out.row(y)[x] = normal(random);
    }
    return out;
  }

  double deviation(const Plane& plane) {
    double sum = 0;
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x)
        sum += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
    }
    return std::sqrt(sum / kSide / kSide);
  }

  const Gains kFine = {{0, 1}, {0.1, 1}, {0.25, 4}, {0.5, 4}};

  const spectrum::FrcCurve kUnknown;

  }  // namespace

  TEST_CASE("noise is raised as much as restoring does it, measured in the restored picture") {
    const Plane picture = white_noise(1);
    const Plane noise = white_noise(2);  // of other half stacks it would be as independent
    const double before = deviation(picture);
    for (const double restraint : {0.0, 0.5}) {
      CAPTURE(restraint);
      const double after =
          deviation(restore_detail(picture.view(), kFine, noise.view(), restraint));
      for (const Noise& known : {Noise(noise.view()), Noise(kSigma)}) {
        const RaisedNoise raised =
            NoiseCells(picture.view(), known).raised(kFine, restraint, kUnknown);
        REQUIRE(raised.columns == kSide / RaisedNoise::kCellPx);
        REQUIRE(raised.times.size() == 256);
        double mean = 0;
        for (const float times : raised.times) mean += static_cast<double>(times) / 256;
        CHECK(std::abs(mean / (after / before) - 1) < 0.06);
      }
    }
  }

  TEST_CASE("noise that restraint holds back is not raised") {
    const Plane picture = white_noise(3);
    const Plane noise = white_noise(4);
    for (const float times :
         NoiseCells(picture.view(), noise.view()).raised(kFine, 1, kUnknown).times)
      CHECK(times == 1);
    CHECK(NoiseCells(picture.view(), noise.view()).raised({}, 0, kUnknown).times.front() == 1);
  }

  TEST_CASE("where detail outweighs the noise nothing is told, beside it the noise") {
    Plane picture = white_noise(5);
    const Plane noise = white_noise(6);
    for (int y = 0; y < kSide; ++y) {  // gratings of 4 px to the left: ten times the noise
      for (int x = 0; x < kSide / 2; ++x)
        picture.row(y)[x] += 0.1F * std::sin(static_cast<float>(x) * 1.5708F);
    }
    const spectrum::FrcCurve agreed = {{{0, 0.99, 100}, {0.3, 0.99, 100}, {0.5, 0.99, 100}}};
    const RaisedNoise raised = NoiseCells(picture.view(), noise.view()).raised(kFine, 0, agreed);
    for (int row = 0; row < raised.rows; ++row) {
      const auto first = static_cast<std::size_t>(row * raised.columns);
      CHECK(raised.times[first + 4] == 1);
      CHECK(raised.times[first + 12] > 2);
    }
  }

  TEST_CASE("gains beyond what the half stacks agree on raise noise and no detail") {
    // A grating of 8 px, stronger than the noise: the half stacks agree on it alone.
    Plane picture = white_noise(8);
    const Plane noise = white_noise(9);
    for (int y = 0; y < kSide; ++y) {
      for (int x = 0; x < kSide; ++x)
        picture.row(y)[x] += 0.05F * std::sin(static_cast<float>(x) * 0.7854F);
    }
    spectrum::FrcCurve frc;
    for (int i = 0; i <= 50; ++i) frc.rings.push_back({0.01 * i, i < 15 ? 0.99 : 0.0, 100});
    const NoiseCells cells(picture.view(), noise.view());
    const auto raised_cells = [&](const Gains& gains) {
      const RaisedNoise raised = cells.raised(gains, 0, frc);
      return std::count_if(raised.times.begin(), raised.times.end(),
                           [](float times) { return times > 1; });
    };
    CHECK(raised_cells({{0, 1}, {0.2, 1}, {0.25, 4}, {0.5, 4}}) == 256);  // beyond 0.15 cycles/px
    CHECK(raised_cells({{0, 1}, {0.05, 3}, {0.14, 3}, {0.16, 1}, {0.5, 1}}) == 0);
  }

  TEST_CASE("a picture larger than a tile, of odd sizes, has no seam") {
    Plane picture(Size{1047, 35});
    std::mt19937 random(7);
    std::normal_distribution<float> normal(0, static_cast<float>(kSigma));
    for (int y = 0; y < 35; ++y) {
      for (int x = 0; x < 1047; ++x) picture.row(y)[x] = normal(random);
    }
    const RaisedNoise raised = NoiseCells(picture.view(), Noise(kSigma)).raised(kFine, 0, kUnknown);
    REQUIRE(raised.columns == 66);
    REQUIRE(raised.rows == 3);
    for (const float times : raised.times) CHECK(std::abs(times - 3.3F) < 0.8F);
    const RaisedNoise one = {1, 2, {1, 3}};
    CHECK(larger_of(one, {1, 2, {2, 1}}).times == std::vector<float>{2, 3});
  }
}
