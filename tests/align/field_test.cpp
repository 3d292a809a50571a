// Covers: align/field_kernels, align/padded_frame, align/node_grid
#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

#include "align/field_estimator.h"
#include "support/scene.h"

namespace {

using namespace lull;
using align::LevelsUsed;
using align::ShiftField;

constexpr Size kSize{192, 160};

Plane ones(Size size) {
  Plane plane(size);
  plane.fill(1);
  return plane;
}

// A smooth distortion of 1.5 px on top of a whole shift.
Displacement distortion(double x, double y) {
  return {1.4 + 1.5 * std::sin(x / 40.0), -2.2 + 1.5 * std::cos(y / 35.0 + x / 60.0)};
}

// Where frame(p + d(p)) = reference(p): the frame shows the scene at q - d(q') with q' + d(q') = q.
Displacement seen_through(double x, double y) {
  Displacement d = distortion(x, y);
  for (int i = 0; i < 20; ++i) d = distortion(x - d.x_px, y - d.y_px);
  return {-d.x_px, -d.y_px};
}

}  // namespace

TEST_SUITE("align/field_estimator") {
  TEST_CASE("recovers a smooth field of 1.5 px to 0.1 px rms, in noise and other brightness") {
    const test::Scene scene(kSize, 21);
    const Plane reference = scene.seen(kSize, [](int, int) { return Displacement{}; });
    Plane frame = scene.seen(kSize, [](int x, int y) { return seen_through(x, y); });
    scale(frame.view(), 0.8F);
    test::add_noise(frame.view(), 0.01, 5);
    align::PaddedFrame padded;
    padded.assign(frame.view());
    const align::FieldEstimator estimator(reference.view(), ones(kSize).view(), {});
    align::FieldEstimator::Workspace work;
    const auto found =
        estimator.estimate(padded, {ShiftField(kSize, {1, -2}), 1.0}, LevelsUsed::all, work);
    double squares = 0;
    int count = 0;
    for (int y = 16; y < 144; y += 4) {
      for (int x = 16; x < 176; x += 4) {
        const Displacement error = found.field.at(x, y).displacement() - distortion(x, y);
        squares += error.x_px * error.x_px + error.y_px * error.y_px;
        ++count;
      }
    }
    CHECK(std::sqrt(squares / (2 * count)) < 0.1);
    CHECK(found.gain == doctest::Approx(1 / 0.8).epsilon(0.01));
  }

  TEST_CASE("recovers shifts of 8 px that fine gradients alone cannot see") {
    const Size size{320, 256};
    const test::Scene scene(size, 33, 1.5, 4.0);
    const auto distorted = [](double x, double y) {
      return Displacement{8 * std::sin(x / 90.0 + 0.4), 8 * std::cos(y / 80.0)};
    };
    const Plane reference = scene.seen(size, [](int, int) { return Displacement{}; });
    Plane frame = scene.seen(size, [&](int x, int y) {
      Displacement d = distorted(x, y);
      for (int i = 0; i < 30; ++i) d = distorted(x - d.x_px, y - d.y_px);
      return Displacement{-d.x_px, -d.y_px};
    });
    test::add_noise(frame.view(), 0.01, 6);
    align::PaddedFrame padded;
    padded.assign(frame.view());
    align::FieldOptions options;
    options.noise = 0.01;
    const auto error_with = [&](const align::FieldOptions& chosen) {
      const align::FieldEstimator estimator(reference.view(), ones(size).view(), chosen);
      align::FieldEstimator::Workspace work;
      const auto found = estimator.estimate(padded, {ShiftField(size), 1.0}, LevelsUsed::all, work);
      double squares = 0;
      int count = 0;
      for (int y = 48; y < 208; y += 4) {
        for (int x = 48; x < 272; x += 4) {
          const Displacement error = found.field.at(x, y).displacement() - distorted(x, y);
          squares += error.x_px * error.x_px + error.y_px * error.y_px;
          ++count;
        }
      }
      return std::sqrt(squares / (2 * count));
    };
    CHECK(error_with(options) < 0.3);
    align::FieldOptions gradients_only = options;
    gradients_only.search.least_peak = 1e9;
    gradients_only.levels = {{1, 2, 1}, {1, 1, 1}};
    CHECK(error_with(gradients_only) > 1.0);
  }

  TEST_CASE("pure noise moves nothing far, and a flat frame moves nothing") {
    Plane noise = ones(kSize);
    Plane other = ones(kSize);
    test::add_noise(noise.view(), 0.05, 1);
    test::add_noise(other.view(), 0.05, 2);
    align::PaddedFrame padded;
    align::FieldEstimator::Workspace work;
    const align::FieldEstimator on_noise(noise.view(), ones(kSize).view(), {});
    padded.assign(other.view());
    const auto moved = on_noise.estimate(padded, {ShiftField(kSize), 1.0}, LevelsUsed::all, work);
    // Half of what the prior allows.
    CHECK(moved.field.local_rms_px() < 0.5 * std::sqrt(align::ShiftPriorOptions{}.variance_px2));
    const align::FieldEstimator on_flat(ones(kSize).view(), ones(kSize).view(), {});
    padded.assign(ones(kSize).view());
    const auto flat = on_flat.estimate(padded, {ShiftField(kSize), 1.0}, LevelsUsed::all, work);
    CHECK(flat.field.local_rms_px() == 0);
    CHECK(flat.field.whole == FrameOffset{});
  }
}

TEST_SUITE("align/shift_field") {
  TEST_CASE("the local rms is that of both axes: 3 and 4 make 5") {
    align::ShiftField field({64, 48}, {7, -9});
    for (float& x : field.local_x) x = 3;
    for (float& y : field.local_y) y = -4;
    CHECK(field.local_rms_px() == doctest::Approx(5));
  }

  // By hand: a quarter turn about the middle (3.5, 1.5) takes +x to +y, and +y to -x.
  TEST_CASE("a turn is about the middle of the reference, and local shifts turn with it") {
    ShiftField field({8, 4}, {10, 20});
    field.turn = std::numbers::pi / 2;
    const auto place = [&](double x, double y) {
      const FrameOffset at = field.at(x, y);
      return Displacement{x + at.x_px, y + at.y_px};
    };
    const auto near = [](Displacement a, Displacement b) {
      return std::hypot(a.x_px - b.x_px, a.y_px - b.y_px) < 1e-6;
    };
    CHECK(near(place(3.5, 1.5), {13.5, 21.5}));
    CHECK(near(place(7.5, 1.5), {13.5, 25.5}));
    CHECK(near(place(3.5, 3.5), {11.5, 21.5}));
    field.local_x.assign(field.local_x.size(), 0.5F);
    CHECK(near(place(3.5, 1.5), {13.5, 22}));
    CHECK(near(field.rigid_at(3.5, 1.5).displacement(), {10, 20}));
    CHECK(near(field.turned({1, 0}), {0, 1}));
  }

  TEST_CASE("the whole shift of a turned frame is found along the axes of the frame") {
    const test::Scene scene(kSize, 24);
    const Plane reference = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const double middle_x = 0.5 * (kSize.width_px - 1);
    const double middle_y = 0.5 * (kSize.height_px - 1);
    // A half turn: both axes are reversed.
    const FrameOffset truth{1.2, -0.7};
    const Plane frame = scene.seen(kSize, [&](int x, int y) {
      return Displacement{2 * (middle_x - x) + truth.x_px, 2 * (middle_y - y) + truth.y_px};
    });
    align::PaddedFrame padded;
    padded.assign(frame.view());
    align::FieldOptions options;
    options.levels = {{0, 6, 1}};
    const align::FieldEstimator estimator(reference.view(), ones(kSize).view(), options);
    align::FieldEstimator::Workspace work;
    ShiftField start(kSize);
    start.turn = std::numbers::pi;
    const auto found = estimator.estimate(padded, {start, 1.0}, LevelsUsed::all, work);
    CHECK(std::abs(found.field.whole.x_px - truth.x_px) < 0.05);
    CHECK(std::abs(found.field.whole.y_px - truth.y_px) < 0.05);
  }

  TEST_CASE("coordinates along a row are those of single points") {
    for (const double turn : {0.0, 0.3}) {
      for (const Size size : {Size{64, 40}, Size{61, 37}, Size{8, 8}, Size{5, 3}}) {
        ShiftField field(size, {0.5, -1.5});
        field.turn = turn;
        for (std::size_t i = 0; i < field.local_x.size(); ++i) {
          field.local_x[i] = static_cast<float>(std::sin(static_cast<double>(i) * 1.3));
          field.local_y[i] = static_cast<float>(std::cos(static_cast<double>(i) * 0.7));
        }
        std::vector<float> x(field.row_size());
        std::vector<float> y(field.row_size());
        for (int row = 0; row < size.height_px; ++row) {
          field.coordinates(row, x.data(), y.data());
          for (int i = 0; i < size.width_px; ++i) {
            const FrameOffset at = field.at(i, row);
            CHECK(std::abs(static_cast<double>(x[static_cast<std::size_t>(i)]) - (i + at.x_px)) <
                  1e-4);
            CHECK(std::abs(static_cast<double>(y[static_cast<std::size_t>(i)]) - (row + at.y_px)) <
                  1e-4);
          }
        }
      }
    }
  }
}

TEST_SUITE("align/node_grid") {
  // exp(-d^2 / (2 sigma^2)) with nodes 8 px apart: 0.6065 at one sigma, its square diagonally.
  TEST_CASE("a window is a Gaussian of that standard deviation in pixels") {
    std::vector<float> grid(std::size_t{9} * 7);
    grid[3 * 9 + 4] = 1;
    std::vector<float> scratch;
    align::NodeWindow(9, 7, 8).apply(grid, scratch);
    CHECK(grid[3 * 9 + 4] == doctest::Approx(1));
    CHECK(grid[3 * 9 + 5] == doctest::Approx(0.60653));
    CHECK(grid[2 * 9 + 4] == doctest::Approx(0.60653));
    CHECK(grid[2 * 9 + 3] == doctest::Approx(0.36788));
    CHECK(grid[3 * 9 + 2] == doctest::Approx(0.13534));
  }
}
