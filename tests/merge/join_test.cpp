#include "merge/join.h"

#include <doctest/doctest.h>

#include <cmath>

#include "core/error.h"
#include "support/scene.h"
#include "support/text.h"

TEST_SUITE("merge/join") {
  namespace {

  using namespace lull;
  using merge::FilterStack;

  constexpr Size kSize{160, 128};
  constexpr int kRim = 8;  // beyond the picture

  // A stack that shows the scene displaced, with independent noise in its halves.
  FilterStack stack_of(const test::Scene& scene, const char* name, Displacement shift,
                       std::uint32_t seed) {
    FilterStack out;
    out.name = name;
    const auto shifted = [&](int, int) { return Displacement{} - shift; };
    Plane first = scene.seen(kSize, shifted);
    Plane second = Plane::copy_of(first.view());
    test::add_noise(first.view(), 0.01, seed);
    test::add_noise(second.view(), 0.01, seed + 1);
    out.light = {Plane(kSize), Plane(kSize)};
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        out.light.light.row(y)[x] = 0.5F * (first.row(y)[x] + second.row(y)[x]);
        out.light.noise.row(y)[x] = 0.5F * (first.row(y)[x] - second.row(y)[x]);
      }
    }
    out.picture = {kRim, kRim, kSize.width_px - kRim, kSize.height_px - kRim};
    return out;
  }

  std::vector<FilterStack> three(const test::Scene& scene) {
    std::vector<FilterStack> out;
    out.push_back(stack_of(scene, "r.fits", {4, -3}, 1));
    out.push_back(stack_of(scene, "g.fits", {0, 0}, 3));
    out.push_back(stack_of(scene, "b.fits", {-6.5, 2.25}, 5));
    return out;
  }

  }  // namespace

  TEST_CASE("the colours lie on the grid of green, and what all show is kept") {
    const test::Scene scene(kSize, 17);
    const merge::Joined joined = merge::join(three(scene), {}, {});
    CHECK(joined.parts[1].shift == Displacement{});
    CHECK(std::abs(joined.parts[0].shift.x_px - 4) < 0.05);
    CHECK(std::abs(joined.parts[2].shift.y_px - 2.25) < 0.05);
    // Red's picture begins 4 px farther left on the grid, blue's ends 6.5 px earlier.
    CHECK(joined.of_grid.x0 >= 6);
    CHECK(joined.of_grid.x0 <= 8);
    CHECK(joined.of_grid.x1 >= kSize.width_px - 2 * kRim - 5);
    CHECK(joined.picture.width_px() == joined.of_grid.width_px());
    CHECK(joined.colours[0].light.width() > joined.picture.width_px());
    // Each colour shows the scene at the place of the grid.
    const Displacement off{double(joined.of_grid.x0 + kRim - joined.picture.x0),
                           double(joined.of_grid.y0 + kRim - joined.picture.y0)};
    for (const merge::Light& colour : joined.colours) {
      double sum = 0;
      int count = 0;
      for (int y = joined.picture.y0; y < joined.picture.y1; ++y) {
        for (int x = joined.picture.x0; x < joined.picture.x1; ++x) {
          const double error =
              static_cast<double>(colour.light.row(y)[x]) - scene.at(x + off.x_px, y + off.y_px);
          sum += error * error;
          ++count;
        }
      }
      CHECK(std::sqrt(sum / count) < 0.0085);  // the noise of the mean of two halves: 0.0071
    }
  }

  TEST_CASE("the FRC is that of three halves together: it reaches farther than that of one") {
    const test::Scene scene(kSize, 17);
    const merge::Joined joined = merge::join(three(scene), {}, {});
    std::vector<FilterStack> same = three(scene);
    for (FilterStack& one : same)
      one.light = {Plane::copy_of(same[1].light.light.view()),
                   Plane::copy_of(same[1].light.noise.view())};
    const merge::Joined alone = merge::join(std::move(same), {}, {});
    CHECK(joined.frc.information_bits() > 1.1 * alone.frc.information_bits());
  }

  TEST_CASE("with a luminance the grid is its own") {
    const test::Scene scene(kSize, 17);
    std::vector<FilterStack> stacks = three(scene);
    stacks.push_back(stack_of(scene, "l.fits", {2, 2}, 7));
    const merge::Joined joined = merge::join(std::move(stacks), {}, {});
    REQUIRE(joined.parts.size() == 4);
    CHECK(joined.parts[3].shift == Displacement{});
    CHECK(std::abs(joined.parts[1].shift.x_px + 2) < 0.05);
  }

  TEST_CASE("stacks of other scenes, without detail, or with little in common are refused") {
    const test::Scene scene(kSize, 17);
    const auto refusal = [&](FilterStack blue) {
      std::vector<FilterStack> stacks = three(scene);
      stacks[2] = std::move(blue);
      return test::message_of<NothingUsable>(
          [&] { static_cast<void>(merge::join(std::move(stacks), {}, {})); });
    };
    const std::string foreign = refusal(stack_of(test::Scene(kSize, 99), "b.fits", {}, 5));
    CAPTURE(foreign);
    CHECK(test::contains(foreign, "b.fits and g.fits do not show the same"));
    FilterStack flat = stack_of(scene, "b.fits", {}, 5);
    flat.light.light.fill(0.4F);
    CHECK(test::contains(refusal(std::move(flat)), "shows no detail"));
    FilterStack small = stack_of(scene, "b.fits", {}, 5);
    small.picture = {0, 0, 30, 128};
    CHECK(test::contains(refusal(std::move(small)), "px in common"));
  }
}
