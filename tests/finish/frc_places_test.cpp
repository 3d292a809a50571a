#include "finish/frc_places.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <utility>

#include "core/parallel.h"
#include "support/scene.h"

using namespace lull;

TEST_SUITE("finish/frc_places") {
  namespace {

  constexpr Size kSize{420, 330};

  Plane ground() {
    return test::Scene(kSize, 5, 0.8, 2).seen(kSize, [](int, int) { return Displacement{}; });
  }

  // Noise, stronger to the right of x.
  Plane noise_from(int x0, double left, double right) {
    Plane quiet(kSize);
    Plane loud(kSize);
    test::add_noise(quiet.view(), left, 3);
    test::add_noise(loud.view(), right, 4);
    for (int y = 0; y < kSize.height_px; ++y)
      std::copy(loud.row(y) + x0, loud.row(y) + kSize.width_px, quiet.row(y) + x0);
    return quiet;
  }

  Plane all_but(const Box& hole) {
    Plane covered(kSize);
    covered.fill(1);
    for (int y = hole.y0; y < hole.y1; ++y)
      std::fill(covered.row(y) + hole.x0, covered.row(y) + hole.x1, 0.0F);
    return covered;
  }

  bool same(const spectrum::FrcCurve& a, const spectrum::FrcCurve& b) {
    return std::equal(a.rings.begin(), a.rings.end(), b.rings.begin(), b.rings.end(),
                      [](const auto& p, const auto& q) { return p.correlation == q.correlation; });
  }

  double correlation_at(const spectrum::FrcCurve& frc, double frequency) {
    for (const auto& ring : frc.rings)
      if (ring.frequency >= frequency) return ring.correlation;
    return 0;
  }

  }  // namespace

  TEST_CASE("squares overlap by half and hold nothing that no panel shows") {
    const Plane light = ground();
    const Plane noise = noise_from(200, 0.01, 0.01);
    const Box hole = {300, 0, 301, 40};
    const Plane covered = all_but(hole);
    const auto squares = finish::frc_by_place({light.view()}, {noise.view()}, covered.view());
    // 5 columns from 0 to 256 and 4 rows from 0 to 192; those at x = 192 and 256, y = 0 have the
    // hole.
    CHECK(squares.size() == 5 * 4 - 2);
    for (const finish::FrcSquare& square : squares) {
      CHECK(square.box.x0 % 64 == 0);
      CHECK(square.box.y0 % 64 == 0);
      CHECK(square.box.intersection(hole).empty());
    }
  }

  TEST_CASE("a square of a part is that of the whole, to the bit, on any number of threads") {
    const Plane light = ground();
    const Plane noise = noise_from(200, 0.01, 0.03);
    const Plane covered = all_but({});
    const auto whole = finish::frc_by_place({light.view()}, {noise.view()}, covered.view());
    const Box part = {70, 50, 420, 330};
    for (const int threads : {1, 2, 8}) {
      set_thread_count(threads);
      const auto squares =
          finish::frc_by_place({light.view().crop(part)}, {noise.view().crop(part)},
                               covered.view().crop(part), part.x0, part.y0);
      REQUIRE(squares.size() == 3 * 3);
      for (const finish::FrcSquare& square : squares) {
        const Box box = {square.box.x0 + part.x0, square.box.y0 + part.y0, square.box.x1 + part.x0,
                         square.box.y1 + part.y0};
        const auto of_whole = std::find_if(whole.begin(), whole.end(),
                                           [&](const auto& other) { return other.box == box; });
        REQUIRE(of_whole != whole.end());
        CHECK(same(square.frc, of_whole->frc));
      }
    }
    set_thread_count(0);
  }

  TEST_CASE("each tells of its own noise") {
    const Plane light = ground();
    const Plane noise = noise_from(192, 0.003, 0.05);
    const Plane covered = all_but({});
    const auto squares = finish::frc_by_place({light.view()}, {noise.view()}, covered.view());
    for (const finish::FrcSquare& square : squares) {
      CAPTURE(square.box.x0);
      if (square.box.x1 <= 192) CHECK(correlation_at(square.frc, 0.1) > 0.8);
      if (square.box.x0 >= 192) CHECK(correlation_at(square.frc, 0.1) < 0.5);
    }
  }

  TEST_CASE("a picture smaller than a square has none") {
    const Plane small(100, 400);
    CHECK(finish::frc_by_place({small.view()}, {small.view()}, small.view()).empty());
  }
}
