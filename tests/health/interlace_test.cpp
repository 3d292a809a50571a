#include "health/interlace.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

#include "health/support.h"

namespace {

using namespace lull;

constexpr int kWidth = 160;
constexpr int kHeight = 120;

// Sines of periods of 5 px and more in all directions.
double scene(double x, double y) {
  double sum = 0;
  for (int k = 0; k < 12; ++k) {
    const double angle = 0.5 + 2.4 * k;
    const double period = 5.0 + 1.3 * k;
    sum +=
        std::sin(2 * std::numbers::pi * (x * std::cos(angle) + y * std::sin(angle)) / period + k);
  }
  return 1500 + 90 * sum;
}

struct Recording {
  double shift_px = 0;  ///< of the odd rows, across
  double noise = 30;    ///< of the samples
  double row_offsets = 0;
  capture::Cfa cfa = capture::Cfa::none;
};

std::optional<health::Interlace> found_in(const Recording& how) {
  std::mt19937_64 random(77);
  std::normal_distribution<double> normal;
  std::vector<double> offsets;
  offsets.reserve(kHeight);
  for (int y = 0; y < kHeight; ++y) offsets.push_back(how.row_offsets * normal(random));
  auto info = test::info_of(kWidth, kHeight, 12);
  info.cfa = how.cfa;
  if (how.cfa != capture::Cfa::none) info.colour = capture::Colour::cfa;
  health::FieldShifts fields(info);
  std::vector<capture::Frame> frames;
  frames.reserve(8);
  for (int i = 0; i < 8; ++i) {
    frames.push_back(test::frame_of(kWidth, kHeight, i, [&](int x, int y) {
      // The object moves to and fro.
      const double moved = 0.7 * i + (y % 2 == 1 ? (i % 2 == 0 ? 1 : -1) * how.shift_px : 0);
      return std::round(scene(x - moved, y) + offsets[static_cast<std::size_t>(y)] +
                        how.noise * normal(random));
    }));
  }
  const std::vector<Displacement> centres(frames.size(), {kWidth / 2.0, kHeight / 2.0});
  fields.add(test::pointers(frames), centres);
  return fields.result();
}

}  // namespace

TEST_SUITE("health/interlace") {
  // The truth is the shift by which the rows were made.
  TEST_CASE("odd rows of another moment are found by their shift, to 0.1 px") {
    for (const double shift : {-1.5, 0.4, 1.0, 3.0}) {
      CAPTURE(shift);
      const auto found = found_in({.shift_px = shift});
      REQUIRE(found);
      CHECK(std::abs(found->shift_px - std::abs(shift)) < 0.1);
      CHECK(health::is_interlaced(*found));
    }
  }

  TEST_CASE("whole frames are not interlaced, with noise and offsets of rows or without") {
    for (const Recording& how : {Recording{}, Recording{.noise = 0}, Recording{.noise = 200},
                                 Recording{.row_offsets = 100}}) {
      CAPTURE(how.noise);
      CAPTURE(how.row_offsets);
      const auto found = found_in(how);
      REQUIRE(found);
      CHECK(found->shift_px < 0.2);
      CHECK(!health::is_interlaced(*found));
    }
  }

  TEST_CASE("mosaics, small frames and few frames say nothing") {
    CHECK(!found_in({.shift_px = 2, .cfa = capture::Cfa::rggb}));
    const auto info = test::info_of(60, 60, 12);
    health::FieldShifts small(info);
    std::vector<capture::Frame> frames;
    frames.reserve(8);
    for (int i = 0; i < 8; ++i)
      frames.push_back(test::frame_of(60, 60, i, [](int x, int y) { return scene(x, y); }));
    small.add(test::pointers(frames), std::vector<Displacement>(8, {30, 30}));
    CHECK(!small.result());
  }
}
