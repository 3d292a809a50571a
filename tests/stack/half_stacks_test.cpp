#include "stack/half_stacks.h"

#include <doctest/doctest.h>

#include <cmath>

#include "core/parallel.h"
#include "support/scene.h"

namespace {

using namespace lull;
using align::ShiftField;

constexpr Size kSize{100, 76};

struct Piece {
  align::PaddedFrame frame;
  ShiftField field;
  std::vector<float> weights;
};

// Frames of `scene` with whole and local shifts and uneven weights.
template <class Scene>
std::vector<Piece> pieces(const Scene& scene, int count) {
  std::vector<Piece> out(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    Piece& piece = out[static_cast<std::size_t>(i)];
    piece.field = ShiftField(kSize, {std::sin(i) * 5, std::cos(i * 1.7) * 4});
    const Shift whole = piece.field.whole;
    Plane plane(kSize);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        plane.row(y)[x] = static_cast<float>(scene(x - whole.x_px, y - whole.y_px));
      }
    }
    piece.frame.assign(plane.view());
    piece.weights.resize(piece.field.local_x.size());
    for (std::size_t n = 0; n < piece.weights.size(); ++n) {
      piece.weights[n] =
          static_cast<float>(0.01 + std::pow(std::sin(static_cast<double>(n) + i), 4));
    }
  }
  return out;
}

std::vector<stack::Contribution> contributions(const std::vector<Piece>& from) {
  std::vector<stack::Contribution> out;
  for (std::size_t i = 0; i < from.size(); ++i) {
    out.push_back({&from[i].frame, &from[i].field, &from[i].weights, 1.0, static_cast<int>(i % 2)});
  }
  return out;
}

}  // namespace

TEST_SUITE("stack/half_stacks") {
  TEST_CASE("no seams: a constant stays constant, a gradient stays a gradient") {
    const auto constant = [](double, double) { return 0.4; };
    const auto gradient = [](double x, double y) { return 0.2 + 0.003 * x - 0.002 * y; };
    const auto check = [](const auto& scene, double tolerance) {
      const auto from = pieces(scene, 9);
      stack::HalfStacks stacks(kSize);
      stacks.add(contributions(from));
      const Plane mean = stacks.mean();
      const Plane valid = stacks.valid();
      int covered = 0;
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          if (valid.row(y)[x] == 0) continue;
          ++covered;
          CHECK(std::abs(static_cast<double>(mean.row(y)[x]) - scene(x, y)) < tolerance);
        }
      }
      CHECK(covered > kSize.area_px() * 9 / 10);
    };
    check(constant, 1e-6);
    // Cubic convolution is exact for straight lines; a frame's last two samples repeat its edge,
    // where its weight has nearly faded out.
    check(gradient, 2e-4);
  }

  TEST_CASE("areas outside of every frame have no weight and are 0, not garbage") {
    std::vector<Piece> from = pieces([](double, double) { return 0.4; }, 2);
    for (Piece& piece : from) piece.field.whole = {40, 0};
    stack::HalfStacks stacks(kSize);
    stacks.add(contributions(from));
    CHECK(stacks.mean().row(40)[90] == 0);
    CHECK(stacks.valid().row(40)[90] == 0);
    CHECK(stacks.mean().row(40)[20] == doctest::Approx(0.4));
  }

  TEST_CASE("same sums on 1, 2, 3 and 8 threads") {
    const test::Scene scene(kSize, 3);
    const auto from = pieces([&](double x, double y) { return scene.at(x, y); }, 5);
    const auto sum_with = [&](int threads) {
      set_thread_count(threads);
      stack::HalfStacks stacks(kSize);
      stacks.add(contributions(from));
      set_thread_count(0);
      return stacks.mean();
    };
    const Plane expected = sum_with(1);
    for (const int threads : {2, 3, 8}) {
      const Plane other = sum_with(threads);
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) CHECK(other.row(y)[x] == expected.row(y)[x]);
      }
    }
  }
}
