#include "survey/observer.h"

#include <doctest/doctest.h>

#include <cmath>
#include <vector>

#include "core/error.h"
#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/scene.h"

using namespace lull;

namespace {

constexpr double kSky = 2000;  // stored units
constexpr double kObject = 30000;

// A disc on a dark sky, with a texture; rows from `live_rows` on hold the value of a transfer that
// stopped.
capture::Frame disc(Size size, double cx, double cy, double radius, int live_rows) {
  return test::frame_of(size, [=](int x, int y) {
    if (y >= live_rows) return 0.0;
    const double edge = radius - std::hypot(x - cx, y - cy);
    const double hash = std::fmod(std::abs(std::sin(12.9898 * x + 78.233 * y)) * 43758.5453, 1.0);
    return kSky + kObject / (1 + std::exp(-edge)) * (1 + 0.1 * std::sin(0.9 * x) * std::cos(y)) +
           200 * hash;
  });
}

}  // namespace

TEST_SUITE("survey/observer") {
  TEST_CASE("frames are reduced by a power of 2 until they have at most 256 px a side") {
    for (const auto& [size, reduction] :
         {std::pair{Size{64, 48}, 2}, std::pair{Size{512, 100}, 2}, std::pair{Size{514, 100}, 4},
          std::pair{Size{100, 1030}, 8}}) {
      const auto info = test::mono_info(size, 16);
      const std::vector<capture::Frame> frames = {
          disc(size, size.width_px / 2.0, size.height_px / 2.0, 12, size.height_px)};
      survey::Observer observer(info, frames, std::nullopt);
      CHECK(observer.reduction() == reduction);
      CHECK(observer.reduced_size() == Size{size.width_px / reduction, size.height_px / reduction});
    }
  }

  TEST_CASE("energies of cells are squares of light, whatever the bits of the samples") {
    const Size size{96, 80};
    const auto cells_of = [&](int bits) {
      const auto info = test::mono_info(size, bits);
      const double top = info.full_scale;
      const std::vector<capture::Frame> frames = {test::frame_of(size, [top](int x, int y) {
        return std::round(top * (0.5 + 0.2 * std::sin(0.8 * x) * std::cos(0.6 * y)));
      })};
      survey::Observer observer(info, frames, quality::Metric::fine);
      std::vector<survey::Observation> seen;
      observer.observe(frames, seen);
      return seen[0].cells.energy;
    };
    auto twelve = cells_of(12);
    auto sixteen = cells_of(16);
    REQUIRE(twelve.count() == sixteen.count());
    for (std::size_t i = 0; i < twelve.count(); ++i) {
      CHECK(static_cast<double>(twelve.values()[i]) ==
            doctest::Approx(static_cast<double>(sixteen.values()[i])).epsilon(0.01));
    }
  }

  // A limb: three fifths of the frame are sky, whose noise is a sixth of that of the light.
  TEST_CASE("the noise of a field is that of its lit part") {
    constexpr double kDarkNoise = 100;  // stored units
    constexpr double kLitNoise = 600;
    const Size size{320, 240};
    Plane white(size);
    test::add_noise(white.view(), 1, 5);
    const auto info = test::mono_info(size, 16);
    const std::vector<capture::Frame> frames = {test::frame_of(size, [&](int x, int y) {
      const bool lit = x >= 192;
      return std::round(kSky + (lit ? kObject + 20.0 * y : 0.0) +
                        (lit ? kLitNoise : kDarkNoise) * static_cast<double>(white.row(y)[x]));
    })};
    survey::Observer observer(info, frames, std::nullopt);
    REQUIRE(observer.target().kind == quality::TargetKind::field);
    std::vector<survey::Observation> seen;
    observer.observe(frames, seen);
    CHECK(seen[0].noise == doctest::Approx(kLitNoise * info.scale.per_unit).epsilon(0.08));
  }

  TEST_CASE("levels of a disc are in light, whatever the reduction") {
    const Size size{600, 400};
    const auto info = test::mono_info(size, 16);
    const std::vector<capture::Frame> frames = {disc(size, 300, 200, 90, 400),
                                                disc(size, 310, 190, 90, 400)};
    survey::Observer observer(info, frames, std::nullopt);
    CHECK(observer.target().kind == quality::TargetKind::disc);
    CHECK(observer.metric() == quality::Metric::coarse);
    std::vector<survey::Observation> seen;
    observer.observe(frames, seen);
    REQUIRE(seen.size() == 2);
    // The brightest tenth of a texture of 10% above the sky: between 1 and 1.1 of the object.
    const double object = kObject / 65535;
    for (const survey::Observation& one : seen) {
      CHECK(one.brightness > object);
      CHECK(one.brightness < 1.1 * object);
      CHECK(one.dead_rows == 0);
      CHECK(one.shows_object);
    }
  }

  TEST_CASE("a frame is cut short where its object ends with the rows that hold data") {
    const Size size{128, 96};
    const auto info = test::mono_info(size, 16);
    const std::vector<capture::Frame> frames = {
        disc(size, 64, 48, 20, 96),   // whole
        disc(size, 64, 48, 20, 52),   // cut through the disc
        disc(size, 64, 48, 20, 80)};  // cut in the sky below it
    survey::Observer observer(info, {frames[0]}, std::nullopt);
    std::vector<survey::Observation> seen;
    observer.observe(frames, seen);
    CHECK(seen[1].dead_rows == 44);
    CHECK(seen[2].dead_rows == 16);
    CHECK_FALSE(observer.cut_short(seen[0], 0));
    CHECK(observer.cut_short(seen[1], 0));
    CHECK_FALSE(observer.cut_short(seen[2], 0));
    CHECK_FALSE(observer.cut_short(seen[1], 44));  // as all frames of the capture
  }

  TEST_CASE("frames under two cells a side are refused, with their size") {
    const Size size{2 * quality::kCellPx - 1, 400};
    const auto info = test::mono_info(size, 16);
    const std::vector<capture::Frame> frames = {disc(size, 5, 100, 4, 400)};
    CHECK_THROWS_AS(survey::Observer(info, frames, std::nullopt), NothingUsable);
  }
}
