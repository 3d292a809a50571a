#include "align/shift_prior.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <vector>

TEST_SUITE("align/shift_prior") {
  namespace {

  using namespace lull;
  using align::ShiftPrior;

  constexpr Size kGrid{5, 4};
  constexpr align::ShiftPriorOptions kOptions{6, 256, 0.02, 1e-6};

  ShiftPrior::Observations nothing_seen(Size grid) {
    ShiftPrior::Observations seen;
    for (auto* values : {&seen.xx, &seen.xy, &seen.yy, &seen.x, &seen.y})
      values->assign(static_cast<std::size_t>(grid.area_px()), 0.0F);
    return seen;
  }

  struct Sight {
    int column;
    int row;
    float xx, xy, yy;  ///< precision
    float x, y;        ///< shift
  };

  ShiftPrior::Observations observations(const std::vector<Sight>& sights, Size grid) {
    ShiftPrior::Observations seen = nothing_seen(grid);
    for (const Sight& sight : sights) {
      const auto i =
          static_cast<std::size_t>(std::ptrdiff_t{sight.row} * grid.width_px + sight.column);
      seen.xx[i] = sight.xx;
      seen.xy[i] = sight.xy;
      seen.yy[i] = sight.yy;
      seen.x[i] = sight.xx * sight.x + sight.xy * sight.y;
      seen.y[i] = sight.xy * sight.x + sight.yy * sight.y;
    }
    return seen;
  }

  const std::vector<Sight> kSights = {{1, 1, 4, 1, 3, 1.5F, -0.5F},
                                      {3, 2, 2, -0.5F, 5, -0.8F, 0.9F},
                                      {0, 3, 0.5F, 0, 0.1F, 0.3F, 2},
                                      {4, 0, 1, 0.6F, 1, 0.1F, -1.2F}};

  }  // namespace

  // numpy.linalg.solve(numpy.eye(40) + W @ K, W @ s): the weights of simple kriging. K is the dense
  // covariance of all 40 components: the cosine sum of the power spectrum, over 12 x 10
  // frequencies, and 25 px^2 for the whole shift. W is the precision and s the shift.
  TEST_CASE("predicts what a dense solution of the kriging equations does") {
    constexpr std::array<std::array<double, 2>, 20> kExpected = {
        {{1.0946, -0.5618},  {1.0840, -0.4238},  {0.2149, -0.3130}, {-0.3982, -0.5292},
         {-0.2434, -0.7343}, {1.0244, -0.2461},  {1.2658, -0.2680}, {0.2589, -0.0542},
         {-0.6148, 0.0287},  {-0.3282, -0.0815}, {0.8480, 0.5298},  {1.2656, 0.3902},
         {0.4863, 0.5046},   {-0.5524, 0.8003},  {-0.4637, 0.8285}, {0.7247, 0.9439},
         {1.0682, 0.7718},   {0.6126, 0.6410},   {-0.3017, 0.8230}, {-0.5051, 1.0012}}};
    const ShiftPrior prior(kGrid, 16, kOptions);
    ShiftPrior::Workspace work;
    std::vector<float> x;
    std::vector<float> y;
    for (const ShiftPrior::Start start : {ShiftPrior::Start::zero, ShiftPrior::Start::last}) {
      prior.predict(observations(kSights, kGrid), start, work, x, y);
      for (std::size_t i = 0; i < kExpected.size(); ++i) {
        CAPTURE(i);
        CHECK(std::abs(static_cast<double>(x[i]) - kExpected[i][0]) < 0.001);
        CHECK(std::abs(static_cast<double>(y[i]) - kExpected[i][1]) < 0.001);
      }
    }
  }

  TEST_CASE("nothing seen, nothing moved; one certain shift of all moves all") {
    const ShiftPrior prior(kGrid, 16, kOptions);
    ShiftPrior::Workspace work;
    std::vector<float> x;
    std::vector<float> y;
    prior.predict(nothing_seen(kGrid), ShiftPrior::Start::zero, work, x, y);
    for (const float value : x) CHECK(value == 0.0F);
    std::vector<Sight> all;
    for (int r = 0; r < kGrid.height_px; ++r) {
      for (int c = 0; c < kGrid.width_px; ++c) all.push_back({c, r, 100, 0, 100, 3, -2});
    }
    prior.predict(observations(all, kGrid), ShiftPrior::Start::zero, work, x, y);
    for (const float value : x)
      CHECK(static_cast<double>(value) == doctest::Approx(3).epsilon(0.01));
    for (const float value : y)
      CHECK(static_cast<double>(value) == doctest::Approx(-2).epsilon(0.01));
  }

  // Shifts are slopes of a wave front: along their own direction they resemble each other over
  // shorter distances than across it (Takato & Yamaguchi 1995, JOSA A 12, 958).
  TEST_CASE("a shift is expected farther across its direction than along it") {
    const Size grid{15, 15};
    const ShiftPrior prior(grid, 16, {6, 256, 0, 1e-6});
    ShiftPrior::Workspace work;
    std::vector<float> x;
    std::vector<float> y;
    // The outer places keep the whole shift at zero.
    std::vector<Sight> sights = {{7, 7, 10, 0, 10, 2, 0}};
    for (const int r : {0, 14}) {
      for (const int c : {0, 14}) sights.push_back({c, r, 1, 0, 1, 0, 0});
    }
    prior.predict(observations(sights, grid), ShiftPrior::Start::zero, work, x, y);
    const auto at = [&](int c, int r) {
      return static_cast<double>(x[static_cast<std::size_t>(std::ptrdiff_t{r} * 15 + c)]);
    };
    CHECK(at(7, 10) > 1.5 * at(10, 7));
    CHECK(at(7, 7) > 1);
  }
}
