// Covers: core/reduced, merge/detail, merge/covered, merge/match_blur
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "core/reduced.h"
#include "merge/covered.h"
#include "merge/detail.h"
#include "merge/match_blur.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull;

constexpr Size kPartSize{96, 80};

Plane scene_of(std::uint32_t seed) {
  return test::Scene(kPartSize, seed).seen(kPartSize, [](int, int) { return Displacement{}; });
}

std::vector<float> reference(const std::string& work, const Plane& plane, double value) {
  const test::TemporaryFolder folder;
  std::vector<double> samples;
  for (int y = 0; y < plane.height(); ++y)
    samples.insert(samples.end(), plane.row(y), plane.row(y) + plane.width());
  test::write_values(folder / "in", samples);
  test::reference_of("merge/parts.py",
                     {work, folder.file("in"), folder.file("out"), std::to_string(plane.width()),
                      std::to_string(plane.height()),
                      work == "reduce" ? std::to_string(int(value)) : std::to_string(value)});
  return test::values_of<float>(folder / "out");
}

double most_apart(const Plane& plane, const std::vector<float>& expected) {
  REQUIRE(static_cast<std::size_t>(plane.size().area_px()) == expected.size());
  double most = 0;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const float other = expected[static_cast<std::size_t>(y * plane.width() + x)];
      most = std::max(most, std::abs(static_cast<double>(plane.row(y)[x] - other)));
    }
  }
  return most;
}

// FRC of half stacks that agree up to a frequency, and of a blur of so much.
merge::Sharpness sharpness(double core, double highest) {
  merge::Sharpness out;
  out.air = finish::Blur{core, 0.1, 0.4};
  for (int i = 0; i < 50; ++i) {
    const double frequency = 0.01 * (i + 0.5);
    out.frc.rings.push_back({frequency, frequency < highest ? 1.0 : 0.0, 1e5});
  }
  return out;
}

}  // namespace

TEST_SUITE("merge/detail") {
  TEST_CASE("blurs as scipy's gaussian_filter does, also at the edges") {
    const Plane plane = scene_of(3);
    for (const double sigma : {1.2, 4.0, 12.0})
      CHECK(most_apart(merge::blurred(plane.view(), sigma), reference("gaussian", plane, sigma)) <
            2e-3);
  }

  TEST_CASE("reduces as skimage's block_reduce does") {
    const Plane plane = scene_of(3);
    for (const int side : {2, 3, 4})
      CHECK(most_apart(lull::reduced(plane.view(), side), reference("reduce", plane, side)) < 1e-5);
  }

  TEST_CASE("detail has no level, and is the difference of two blurs") {
    Plane plane = scene_of(4);
    const Plane fine = merge::blurred(plane.view(), 1);
    const Plane coarse = merge::blurred(plane.view(), 6);
    const Plane detail = merge::detail_of(plane.view(), 1, 6);
    for (int y = 0; y < kPartSize.height_px; ++y)
      for (int x = 0; x < kPartSize.width_px; ++x)
        CHECK(std::abs(static_cast<double>(detail.row(y)[x] - fine.row(y)[x] + coarse.row(y)[x])) <
              1e-5);
  }

  TEST_CASE("another contrast and level are undone, also where they are turned over") {
    const Plane plane = scene_of(5);
    Plane other(kPartSize);
    for (int y = 0; y < kPartSize.height_px; ++y)
      for (int x = 0; x < kPartSize.width_px; ++x) other.row(y)[x] = 0.9F - 0.4F * plane.row(y)[x];
    const Plane alike = merge::with_contrast_of(plane.view(), other.view(), 12);
    for (int y = 0; y < kPartSize.height_px; ++y)
      for (int x = 0; x < kPartSize.width_px; ++x)
        CHECK(std::abs(static_cast<double>(alike.row(y)[x] - plane.row(y)[x])) < 0.01);
  }
}

TEST_SUITE("merge/covered") {
  TEST_CASE("the box has no open pixel, and is the whole where all is covered") {
    Plane all(kPartSize);
    all.fill(1);
    const Box whole{0, 0, kPartSize.width_px, kPartSize.height_px};
    CHECK(merge::covered_box({all.view()}, whole) == whole);
    // A turned edge: the corner at the left and above is open.
    Plane turned = Plane::copy_of(all.view());
    for (int y = 0; y < kPartSize.height_px; ++y)
      for (int x = 0; x < kPartSize.width_px; ++x)
        if (8 * x + y < 40) turned.row(y)[x] = 0;
    Plane shifted = Plane::copy_of(all.view());
    for (int y = 70; y < kPartSize.height_px; ++y)
      std::fill_n(shifted.row(y), kPartSize.width_px, 0.0F);
    const Box box = merge::covered_box({turned.view(), shifted.view()}, whole);
    CHECK(box.y1 == 70);
    CHECK(box.x0 <= 5);
    CHECK(box.width_px() * box.height_px() > 90 * 69);
    for (int y = box.y0; y < box.y1; ++y)
      for (int x = box.x0; x < box.x1; ++x) CHECK(turned.row(y)[x] == 1);
  }

  TEST_CASE("nothing covered is an empty box") {
    const Plane none(kPartSize);
    CHECK(merge::covered_box({none.view()}, {0, 0, 96, 80}).empty());
  }
}

TEST_SUITE("merge/match_blur") {
  TEST_CASE("gains are the ratio of what is left, limited where the halves do not agree") {
    const merge::Sharpness grid = sharpness(0.8, 0.3);
    const merge::Sharpness soft = sharpness(0.4, 0.2);
    const auto raise = merge::gains_to(grid, soft, 1);
    const auto ratio = [&](double f) { return grid.air->transfer(f) / soft.air->transfer(f); };
    for (const double f : {0.05, 0.1, 0.15})
      CHECK(spectrum::gain_at(raise, f) == doctest::Approx(ratio(f)).epsilon(0.01));
    CHECK(spectrum::gain_at(raise, 0) == doctest::Approx(1));
    CHECK(spectrum::gain_at(raise, 0.3) == doctest::Approx(1));
    const auto weaken = merge::gains_to(soft, grid, 1);
    for (const double f : {0.05, 0.15, 0.4})  // in full, agreed on or not
      CHECK(spectrum::gain_at(weaken, f) == doctest::Approx(1 / ratio(f)).epsilon(0.01));
  }

  TEST_CASE("another scale shifts the frequencies, and sampling counts") {
    merge::Sharpness grid = sharpness(0.8, 0.3);
    const merge::Sharpness fine = sharpness(0.8, 0.3);
    // A wave of 0.2 cycles/px of the grid has 0.1 in a picture of twice the size.
    const auto gains = merge::gains_to(grid, fine, 2);
    CHECK(spectrum::gain_at(gains, 0.2) ==
          doctest::Approx(grid.air->transfer(0.2) / fine.air->transfer(0.1)).epsilon(0.01));
    grid.sampling = {{0, 1}, {0.5, 0}};
    CHECK(spectrum::gain_at(merge::gains_to(grid, fine, 1), 0.25) == doctest::Approx(0.5));
  }

  TEST_CASE("an unknown blur changes nothing") {
    merge::Sharpness unknown = sharpness(0.8, 0.3);
    unknown.air.reset();
    CHECK(merge::gains_to(sharpness(0.5, 0.2), unknown, 1).empty());
    CHECK(merge::gains_to(unknown, sharpness(0.5, 0.2), 1).empty());
    const Plane plane = scene_of(8);
    const Plane same = merge::through(plane.view(), {});
    for (int y = 0; y < kPartSize.height_px; ++y)
      CHECK(std::equal(plane.row(y), plane.row(y) + kPartSize.width_px, same.row(y)));
    const Plane half = merge::through(plane.view(), {{0, 0.5}, {0.8, 0.5}});
    CHECK(half.row(40)[40] ==
          doctest::Approx(0.5 * static_cast<double>(plane.row(40)[40])).epsilon(1e-4));
  }
}
