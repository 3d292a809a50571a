#include "health/steps.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numeric>

#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/scene.h"

TEST_SUITE("health/steps") {
  namespace {

  using namespace lull;

  constexpr Size kFrame{160, 128};

  /// Frames of an invented scene that moves by `step` from one to the next.
  std::vector<capture::Frame> moving(Displacement step, const std::vector<int>& indices) {
    const test::Scene scene({240, 208}, 51);
    std::vector<capture::Frame> frames;
    frames.reserve(indices.size());
    for (const int i : indices) {
      frames.push_back(test::frame_of(
          kFrame,
          [&](int x, int y) {
            return 3000 * scene.at(x + 40 - i * step.x_px, y + 40 - i * step.y_px);
          },
          i));
    }
    return frames;
  }

  std::vector<double> lengths(const std::vector<capture::Frame>& frames) {
    const capture::CaptureInfo info = test::mono_info(kFrame, 12);
    health::Steps steps(info);
    steps.add(test::pointers_to(frames),
              std::vector<Displacement>(frames.size(), Displacement{80, 64}));
    return steps.lengths_px();
  }

  }  // namespace

  TEST_CASE("the length of each step is found to 0.1 px") {
    for (const Displacement step : {Displacement{1.5, 0}, {-0.8, 2.1}, {0, 0}, {3, -4}}) {
      CAPTURE(step.x_px);
      const auto found = lengths(moving(step, {0, 1, 2, 3}));
      REQUIRE(found.size() == 3);
      for (const double length : found) {
        CHECK(std::abs(length - std::hypot(step.x_px, step.y_px)) < 0.1);
      }
    }
  }

  TEST_CASE("frames that do not follow each other make no step") {
    CHECK(lengths(moving({1, 1}, {0, 2, 4, 6})).empty());
    CHECK(lengths(moving({1, 1}, {0, 1, 5, 6})).size() == 2);
  }

  TEST_CASE("no more than 8 pairs of a block are compared") {
    std::vector<int> indices(14);
    std::iota(indices.begin(), indices.end(), 0);
    CHECK(lengths(moving({0.5, 0}, indices)).size() == 8);
  }
}
