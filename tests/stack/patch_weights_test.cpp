#include "stack/patch_weights.h"

#include <doctest/doctest.h>

#include <cmath>

// What the header says, worked by hand: ((energy - noise) / (brightness^2 usual))^power.
TEST_SUITE("stack/patch_weights") {
  namespace {

  using namespace lull;
  using quality::CellMeasure;

  constexpr Size kFrame{192, 160};

  CellMeasure cells_of(float energy) {
    CellMeasure cells{quality::CellGrid(kFrame), quality::CellGrid(kFrame), {}};
    std::fill(cells.energy.values().begin(), cells.energy.values().end(), energy);
    std::fill(cells.mean.values().begin(), cells.mean.values().end(), 0.5F);
    cells.saturated.resize(cells.energy.count());
    return cells;
  }

  std::vector<float> weights_of(const CellMeasure& cells, double noise, FrameOffset whole = {},
                                const stack::PatchWeightOptions& options = {}) {
    return stack::patch_weights(cells, noise, 0.5, 0.1, 0.02, align::ShiftField(kFrame, whole),
                                options);
  }

  }  // namespace

  TEST_CASE("a frame of one sharpness weighs its third power everywhere") {
    for (const float energy : {0.0025F, 0.005F, 0.01F}) {
      const auto weights = weights_of(cells_of(energy), 0);
      REQUIRE(!weights.empty());
      const double expected = std::pow(static_cast<double>(energy) / (0.25 * 0.02), 3);
      for (const float w : weights)
        CHECK(static_cast<double>(w) == doctest::Approx(expected).epsilon(1e-4));
    }
    stack::PatchWeightOptions linear;
    linear.power = 1;
    CHECK(static_cast<double>(weights_of(cells_of(0.01F), 0, {}, linear)[0]) == doctest::Approx(2));
  }

  TEST_CASE("noise is taken off, and what it leaves uncertain evens the weights out") {
    const double noise = 0.004;
    const auto sharp = static_cast<double>(weights_of(cells_of(0.014F), noise)[0]);
    const auto dull = static_cast<double>(weights_of(cells_of(0.009F), noise)[0]);
    // 9% of the noise's energy is its uncertainty over a window of 16 px.
    const double unsure = 0.09 * noise;
    CHECK(sharp / dull ==
          doctest::Approx(std::pow((0.010 + unsure) / (0.005 + unsure), 3)).epsilon(1e-4));
    CHECK(sharp / dull < 8);
  }

  TEST_CASE("sharpness is looked up where the frame shows the node: offset and all") {
    CellMeasure cells = cells_of(0.002F);
    const int right = cells.energy.columns() / 2;
    for (int r = 0; r < cells.energy.rows(); ++r) {
      for (int c = right; c < cells.energy.columns(); ++c) cells.energy.row(r)[c] = 0.01F;
    }
    const align::ShiftField field(kFrame);
    const int node = align::ShiftField::kNodePx;
    const auto first_heavy = [&](FrameOffset whole) {
      const auto weights = weights_of(cells, 0, whole);
      int c = 0;
      while (static_cast<double>(weights[static_cast<std::size_t>(c)]) < 1.728)
        ++c;  // (0.006 / 0.005)^3
      return c * node;
    };
    const int at_home = first_heavy({});
    CHECK(std::abs(at_home - 96) <= 2 * node);
    CHECK(at_home - first_heavy({32, 0}) == doctest::Approx(32).epsilon(0.01 + node / 32.0));
    CHECK(first_heavy({-32, 0}) > at_home);
  }

  TEST_CASE("saturated cells and sky weigh least, and without figures all weigh alike") {
    CellMeasure cells = cells_of(0.01F);
    std::fill(cells.saturated.begin(), cells.saturated.end(), true);
    for (const float w : weights_of(cells, 0)) CHECK(w <= 1e-7F);
    CellMeasure sky = cells_of(0.01F);
    std::fill(sky.mean.values().begin(), sky.mean.values().end(), 0.01F);
    for (const float w : weights_of(sky, 0)) CHECK(w <= 1e-7F);
    const auto usual_unknown =
        stack::patch_weights(cells_of(0.01F), 0, 0.5, 0.1, 0, align::ShiftField(kFrame), {});
    for (const float w : usual_unknown) CHECK(w == 1.0F);
  }
}
