#include "judge/mosaic_seams.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "judge/mosaic_blur.h"
#include "merge/detail.h"
#include "support/scene.h"

using namespace lull;
using judge::MosaicTruth;
using judge::Steps;

namespace {

constexpr Size kSide{900, 760};
constexpr double kRadiusPx = 330;
constexpr Displacement kMiddle{440.2, 379.7};

// Hills and pits of one width; their standard deviation is 1.
Plane rough(double width_px, std::uint32_t seed) {
  Plane noise(kSide);
  test::add_noise(noise.view(), 1, seed);
  Plane out = merge::blurred(noise.view(), width_px);
  scale(out.view(), static_cast<float>(2 * std::sqrt(std::numbers::pi) * width_px));
  return out;
}

// A globe as rough as the Moon, lit from the right: a limb there, a terminator 0.8 of the radius to
// the left of the middle, and sky.
Plane globe() {
  const Plane fine = rough(1.5, 3);
  const Plane coarse = rough(6, 4);
  Plane out(kSide);
  for (int y = 0; y < kSide.height_px; ++y) {
    for (int x = 0; x < kSide.width_px; ++x) {
      const double u = (x - kMiddle.x_px) / kRadiusPx;
      const double v = (y - kMiddle.y_px) / kRadiusPx;
      const double inside = 1 - u * u - v * v;
      if (inside <= 0) continue;
      const double sun = 0.6 * u + 0.8 * std::sqrt(inside);
      const double slope = 0.12 * static_cast<double>(fine.row(y)[x] + coarse.row(y)[x]);
      out.row(y)[x] = static_cast<float>(std::max(0.0, sun + slope));
    }
  }
  return out;
}

// The globe through poor air, which no single Gaussian describes, with noise as of a stack.
Plane seen_through_air(const Plane& scene) {
  const Plane core = merge::blurred(scene.view(), 1.7);
  const Plane halo = merge::blurred(scene.view(), 5);
  Plane out = weighted_sum(core.view(), 0.35F / 0.65F, halo.view());
  scale(out.view(), 0.65F);
  test::add_noise(out.view(), 0.002, 7);
  return out;
}

// A border of one piece, through a place of the globe in radii from its middle.
struct Border {
  const char* name;
  double x;
  double y;
  bool down;  ///< else along a row
};

constexpr Border kBorders[] = {
    {"even ground", 0.25, 0.1, true},          {"even ground, along a row", 0.1, -0.3, false},
    {"along the terminator", -0.58, 0, true},  {"across the terminator", -0.68, 0.2, false},
    {"beside the limb", 0.8, 0, true},         {"across the limb", 0.9, 0.05, false},
    {"across the limb below", 0.3, 0.82, true}};

Displacement place_of(const Border& border) {
  return kMiddle + Displacement{border.x * kRadiusPx, border.y * kRadiusPx};
}

MosaicTruth truth_of(const Border& border) {
  const Displacement at = place_of(border);
  const Displacement way = border.down ? Displacement{0, 16} : Displacement{16, 0};
  MosaicTruth out;
  out.panels.push_back({"", {at, at + way}});
  return out;
}

// One side of the border a little brighter, or as it is.
Plane with_step(const Plane& picture, const Border& border, double step) {
  const Displacement at = place_of(border);
  Plane out = Plane::copy_of(picture.view());
  for (int y = 0; y < kSide.height_px; ++y) {
    for (int x = 0; x < kSide.width_px; ++x) {
      if (border.down ? x > at.x_px : y > at.y_px) out.row(y)[x] *= static_cast<float>(1 + step);
    }
  }
  return out;
}

const Plane& scene() {
  static const Plane one = globe();
  return one;
}

const Plane& mosaic() {
  static const Plane one = seen_through_air(scene());
  return one;
}

enum class Blur { known, unknown };

judge::SmoothLight light_of(const Border& border, double step, Blur blur = Blur::known) {
  judge::Brought brought{with_step(mosaic(), border, step), Plane(kSide)};
  brought.covered.fill(1);
  const Plane alike = blur == Blur::known ? judge::through_blur_of(brought, scene().view())
                                          : Plane::copy_of(scene().view());
  return judge::smooth_light(alike.view(), brought.light.view(), brought.covered.view());
}

Steps measured(const Border& border, double step, Blur blur = Blur::known) {
  return judge::steps_at_borders(light_of(border, step, blur), truth_of(border));
}

}  // namespace

TEST_SUITE("judge/mosaic_seams") {
  TEST_CASE("a step is found on even ground, at the terminator and at the limb, through poor air") {
    for (const Border& border : kBorders) {
      CAPTURE(border.name);
      for (const double step : {0.003, 0.01}) {
        CAPTURE(step);
        const Steps found = measured(border, step);
        REQUIRE(found.pieces == 2);  // there and back
        // Noise counts for more in a small one.
        CHECK(found.level_worst == doctest::Approx(100 * step).epsilon(step < 0.01 ? 0.2 : 0.14));
      }
    }
  }

  TEST_CASE("blur is no step, and would be one if it were not known") {
    double squares = 0;
    double of_blur = 0;
    for (const Border& border : kBorders) {
      CAPTURE(border.name);
      const Steps found = measured(border, 0);
      const Steps unknown = measured(border, 0, Blur::unknown);
      CHECK(found.level_worst < 0.1);
      squares += found.level_rms * found.level_rms / std::size(kBorders);
      of_blur += unknown.level_rms * unknown.level_rms / std::size(kBorders);
    }
    CHECK(std::sqrt(squares) < 0.06);
    CHECK(std::sqrt(of_blur) > 0.2);
  }

  TEST_CASE(
      "along a limb no step can be told, whatever the mosaic shows; beside a border none is") {
    const Steps at_limb = measured({"along the limb", 0.97, 0, true}, 0.01);
    CHECK(at_limb.pieces == 0);
    CHECK(at_limb.not_told == 2);
    const Border& even = kBorders[0];
    const Steps beside = steps_beside_borders(light_of(even, 0.01), truth_of(even));
    CHECK(beside.pieces == 4);
    CHECK(beside.level_worst < 0.1);
  }

  // Least squares alone would find shares that raise detail, as they do where a mosaic lies far
  // from its truth.
  TEST_CASE("what raises detail is no blur") {
    const Plane wide = merge::blurred(scene().view(), 2);
    Plane sharper = weighted_sum(scene().view(), -0.5F, wide.view());
    scale(sharper.view(), 2);
    judge::Brought brought{std::move(sharper), Plane(kSide)};
    brought.covered.fill(1);
    const Plane alike = judge::through_blur_of(brought, scene().view());
    for (int y = 200; y < 560; y += 3) {
      for (int x = 400; x < 600; x += 3) {
        CAPTURE(x);
        CAPTURE(y);
        REQUIRE(std::abs(alike.row(y)[x] - scene().row(y)[x]) < 0.01F);
      }
    }
  }
}
