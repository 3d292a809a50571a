#include "survey/outlier_cells.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

using namespace lull;

namespace {

constexpr Size kFrame{320, 240};

// Detail that differs from cell to cell, in frames of uneven sharpness.
quality::CellGrid frame_of(int index, double sharpness) {
  std::mt19937 random(static_cast<unsigned>(index));
  quality::CellGrid cells(kFrame);
  for (int r = 0; r < cells.rows(); ++r) {
    for (int c = 0; c < cells.columns(); ++c) {
      const double scene = 1 + 0.8 * std::sin(1.1 * r) * std::cos(0.7 * c);
      const double air = 0.5 + static_cast<double>(random()) / 4294967295.0;
      cells.row(r)[c] = static_cast<float>(sharpness * scene * air);
    }
  }
  return cells;
}

double sum_of(const quality::CellGrid& cells) {
  double sum = 0;
  for (const float value : cells.values()) sum += static_cast<double>(value);
  return sum;
}

}  // namespace

TEST_SUITE("survey/outlier_cells") {
  TEST_CASE("a track counts for what the rest of its frame shows") {
    survey::OutlierCells outliers;
    std::vector<quality::CellGrid> frames;
    frames.reserve(32);
    for (int i = 0; i < 32; ++i) frames.push_back(frame_of(i, 1 + 0.5 * std::sin(i)));
    const double clean = sum_of(frames[7]);
    quality::CellGrid& struck = frames[7];
    for (int c = 0; c < struck.columns(); ++c) struck.row(c * 2 / 3)[c] += 60;
    for (const quality::CellGrid& frame : frames) outliers.see(frame, {});
    outliers.settle();
    CHECK(sum_of(struck) > 3 * clean);
    CHECK(std::abs(sum_of(outliers.repaired(struck, {})) / clean - 1) < 0.1);
    // All other frames stay as they are, bit by bit.
    for (std::size_t i = 0; i < frames.size(); ++i) {
      if (i == 7) continue;
      CHECK(outliers.repaired(frames[i], {}).values() == frames[i].values());
    }
  }

  TEST_CASE("an object that moves is no outlier, nor is a frame of something else") {
    survey::OutlierCells outliers;
    const auto disc_at = [](int column) {
      quality::CellGrid cells(kFrame);
      for (int r = 0; r < cells.rows(); ++r) {
        for (int c = 0; c < cells.columns(); ++c)
          cells.row(r)[c] = std::hypot(r - 7, c - column) < 4 ? 50.0F : 0.01F;
      }
      return cells;
    };
    for (int i = 0; i < 32; ++i) {
      const int moved = i / 5;
      outliers.see(disc_at(6 + moved), {16.0 * moved, 0});
    }
    outliers.settle();
    const auto jumped = disc_at(13);
    CHECK(outliers.repaired(jumped, {16.0 * 7, 0}).values() == jumped.values());
    quality::CellGrid other(kFrame);
    for (float& value : other.values()) value = 1000;
    CHECK(outliers.repaired(other, {}).values() == other.values());
  }

  // By hand: column k of the object has the energy 5 + k in every frame, wherever it is.
  TEST_CASE("a struck cell gets what this place of the object has in the other frames") {
    const auto object_at = [](int moved) {
      quality::CellGrid cells(kFrame);
      for (int r = 0; r < cells.rows(); ++r)
        for (int c = 0; c < cells.columns(); ++c)
          cells.row(r)[c] = static_cast<float>(5 + c - moved);
      return cells;
    };
    survey::OutlierCells outliers;
    for (int i = 0; i < 24; ++i) outliers.see(object_at(i % 3), {16.0 * (i % 3), 0});
    outliers.settle();
    quality::CellGrid struck = object_at(2);
    struck.row(6)[11] = 5000;
    const quality::CellGrid repaired = outliers.repaired(struck, {32, 0});
    CHECK(repaired.row(6)[11] == doctest::Approx(5 + 11 - 2).epsilon(0.01));
    CHECK(repaired.row(6)[15] == 5 + 15 - 2);
  }

  // By hand: of 24 energies, 10 are 5 and 14 are 20, so their median is 20. All other cells have 5.
  TEST_CASE("a struck cell gets the median of its place") {
    const auto frame_with = [](float here) {
      quality::CellGrid cells(kFrame);
      for (float& value : cells.values()) value = 5;
      cells.row(6)[11] = here;
      return cells;
    };
    survey::OutlierCells outliers;
    for (int i = 0; i < 24; ++i) outliers.see(frame_with(i < 10 ? 5.0F : 20.0F), {});
    outliers.settle();
    CHECK(outliers.repaired(frame_with(5000), {}).row(6)[11] == 20);
  }

  TEST_CASE("of fewer than 8 frames nothing can be said") {
    survey::OutlierCells outliers;
    for (int i = 0; i < 7; ++i) outliers.see(frame_of(i, 1), {});
    outliers.settle();
    quality::CellGrid struck = frame_of(3, 1);
    struck.row(2)[2] += 100;
    CHECK(outliers.repaired(struck, {}).values() == struck.values());
  }
}
