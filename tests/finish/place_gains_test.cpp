#include "finish/place_gains.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "core/parallel.h"
#include "support/scene.h"

using namespace lull;

TEST_SUITE("finish/place_gains") {
  namespace {

  constexpr Size kCanvas{640, 576};
  constexpr int kSide = 128;

  Plane wave(double frequency_x, double frequency_y) {
    Plane out(kCanvas);
    for (int y = 0; y < out.height(); ++y)
      for (int x = 0; x < out.width(); ++x)
        out.row(y)[x] = static_cast<float>(
            0.3 + 0.1 * std::cos(2 * std::numbers::pi * (frequency_x * x + frequency_y * y)));
    return out;
  }

  // All over the canvas, as far as it reaches around them.
  std::vector<finish::PlaceGains> squares(const std::vector<spectrum::FilterPoint>& beyond) {
    std::vector<finish::PlaceGains> out;
    for (int y = 64; y + kSide + 64 <= kCanvas.height_px; y += kSide / 2)
      for (int x = 64; x + kSide + 64 <= kCanvas.width_px; x += kSide / 2)
        out.push_back({{x, y, x + kSide, y + kSide}, beyond});
    return out;
  }

  const std::vector<spectrum::FilterPoint> kBeyond = {{0, 0}, {0.1, 0.5}, {0.2, 1.5}, {0.3, 0}};

  }  // namespace

  // Truth: a linear filter multiplies a wave by its gain at the wave's frequency.
  TEST_CASE("squares that are alike leave no trace of their sides") {
    const Plane canvas = wave(0.12, 0.16);  // 0.2 cycles/px
    Plane sharp(kCanvas);
    finish::add_places(canvas.view(), squares(kBeyond), sharp.view(), 0, 0);
    double worst = 0;
    for (int y = 128; y < kCanvas.height_px - 128; ++y) {
      for (int x = 128; x < kCanvas.width_px - 128; ++x) {
        const double expected = 1.5 * (static_cast<double>(canvas.row(y)[x]) - 0.3);
        worst = std::max(worst, std::abs(static_cast<double>(sharp.row(y)[x]) - expected));
      }
    }
    CHECK(worst < 0.002);  // of a wave of 0.15
  }

  TEST_CASE("one square changes nothing outside, and fades towards its sides") {
    const Plane canvas = wave(0.2, 0);
    const Box box = {192, 192, 320, 320};
    Plane sharp(kCanvas);
    finish::add_places(canvas.view(), {{box, kBeyond}}, sharp.view(), 0, 0);
    const auto most_in_column = [&](int x) {
      float most = 0;
      for (int y = 0; y < sharp.height(); ++y)
        for (int i = x; i < x + 10; ++i) most = std::max(most, std::abs(sharp.row(y)[i]));
      return static_cast<double>(most);
    };
    CHECK(most_in_column(182) == 0);
    CHECK(most_in_column(320) == 0);
    CHECK(most_in_column(251) == doctest::Approx(0.15).epsilon(0.05));
    CHECK(most_in_column(219) == doctest::Approx(0.075).epsilon(0.25));  // a quarter of the side
  }

  TEST_CASE("a part gets what the whole gets, to the bit, on any number of threads") {
    Plane canvas = wave(0.1, 0.12);
    test::add_noise(canvas.view(), 0.02, 7);
    Plane whole(kCanvas);
    finish::add_places(canvas.view(), squares(kBeyond), whole.view(), 0, 0);
    for (const int threads : {1, 2, 3, 8}) {
      set_thread_count(threads);
      CAPTURE(threads);
      Plane part(230, 300);
      finish::add_places(canvas.view(), squares(kBeyond), part.view(), 150, 90);
      bool equal = true;
      for (int y = 0; y < part.height(); ++y)
        equal =
            equal && std::equal(part.row(y), part.row(y) + part.width(), whole.row(y + 90) + 150);
      CHECK(equal);
    }
    set_thread_count(0);
  }
}
