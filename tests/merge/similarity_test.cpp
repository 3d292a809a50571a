// Covers: merge/similarity_search
#include "merge/similarity.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <utility>

#include "merge/find_similarity.h"
#include "merge/similarity_search.h"
#include "support/scene.h"

namespace {

using namespace lull;
using merge::Similarity;

constexpr Size kGrid{168, 140};

Plane plain(const test::Scene& scene) {
  return scene.seen(kGrid, [](int, int) { return Displacement{}; });
}

// A picture in which `map` holds: its pixel q shows the grid place p for which map(p) = q.
Plane seen_by(const test::Scene& scene, const Similarity& map) {
  const double c = std::cos(map.turn) / map.scale;
  const double s = std::sin(map.turn) / map.scale;
  return scene.seen(map.picture, [&](int x, int y) {
    const Displacement from =
        Displacement{double(x), double(y)} - merge::middle_of(map.picture) - map.shift;
    const Displacement p =
        merge::middle_of(map.grid) +
        Displacement{c * from.x_px + s * from.y_px, -s * from.x_px + c * from.y_px};
    return p - Displacement{double(x), double(y)};
  });
}

// Root mean square distance of two maps over the grid, px of the picture.
double apart_px(const Similarity& a, const Similarity& b) {
  double sum = 0;
  int count = 0;
  for (int y = 0; y < a.grid.height_px; y += 7) {
    for (int x = 0; x < a.grid.width_px; x += 7) {
      const Displacement d = a.seen_at(x, y) - b.seen_at(x, y);
      sum += d.x_px * d.x_px + d.y_px * d.y_px;
      ++count;
    }
  }
  return std::sqrt(sum / count);
}

}  // namespace

TEST_SUITE("merge/similarity") {
  TEST_CASE("turns from +x towards +y about the middle, then shifts") {
    const Similarity map{{11, 11}, {21, 21}, 2, std::numbers::pi / 2, {1, -3}};
    const Displacement right = map.seen_at(6, 5);  // one px right of the middle
    CHECK(right.x_px == doctest::Approx(10 + 1));
    CHECK(right.y_px == doctest::Approx(10 - 3 + 2));
    float x = 6;
    float y = 5;
    map.move(&x, &y, 1);
    CHECK(static_cast<double>(x) == doctest::Approx(right.x_px));
    CHECK(static_cast<double>(y) == doctest::Approx(right.y_px));
  }

  TEST_CASE("after() is the small change first, then the map") {
    const Similarity map{{31, 41}, {50, 60}, 1.3, 0.4, {5, -2}};
    const Displacement moved{0.2, -0.1};
    const double grows = 1e-5;
    const double turns = 2e-5;
    const Similarity both = map.after(moved, grows, turns);
    const Displacement p = Displacement{3, 33} - merge::middle_of(map.grid);
    const Displacement changed =
        Displacement{3, 33} + moved +
        Displacement{grows * p.x_px - turns * p.y_px, grows * p.y_px + turns * p.x_px};
    const Displacement expected = map.seen_at(changed.x_px, changed.y_px);
    const Displacement found = both.seen_at(3, 33);
    CHECK(std::abs(found.x_px - expected.x_px) < 1e-6);
    CHECK(std::abs(found.y_px - expected.y_px) < 1e-6);
  }
}

TEST_SUITE("merge/find_similarity") {
  TEST_CASE("finds shift, turn and scale to 0.05 px rms, through noise and another contrast") {
    const test::Scene scene(kGrid, 7);
    Plane reference = plain(scene);
    test::add_noise(reference.view(), 0.005, 1);
    const double degree = std::numbers::pi / 180;
    for (const Similarity& truth :
         {Similarity{kGrid, {160, 150}, 1, 0, {3.4, -7.2}},
          Similarity{kGrid, {160, 150}, 1.012, 0.7 * degree, {-12.6, 4.1}},
          Similarity{kGrid, {190, 160}, 1.08, -9 * degree, {10.3, 1.4}},
          Similarity{kGrid, {160, 150}, 0.995, 181.3 * degree, {5.5, 6.5}}}) {
      CAPTURE(truth.turn);
      Plane picture = seen_by(scene, truth);
      scale(picture.view(), 0.6F);
      test::add_noise(picture.view(), 0.005, 2);
      const auto found = merge::find_similarity(reference.view(), picture.view(), {});
      REQUIRE(found.ok());
      CHECK(apart_px(found.value(), truth) < 0.05);
    }
  }

  TEST_CASE("a known scale is kept to the bit, and one of twice the size is found") {
    const test::Scene scene(kGrid, 7);
    const Plane reference = plain(scene);
    const Similarity shifted{kGrid, kGrid, 1, 0.01, {2, 3}};
    merge::SimilaritySearch search;
    search.furthest_scale = 0;
    const auto known =
        merge::find_similarity(reference.view(), seen_by(scene, shifted).view(), search);
    REQUIRE(known.ok());
    CHECK(known.value().scale == 1);
    CHECK(apart_px(known.value(), shifted) < 0.03);

    const Similarity twice{kGrid, {336, 280}, 2.02, 0.01, {2, 3}};
    search = {};
    search.scale = 2;
    const auto found =
        merge::find_similarity(reference.view(), seen_by(scene, twice).view(), search);
    REQUIRE(found.ok());
    CHECK(apart_px(found.value(), twice) < 0.06);
  }

  TEST_CASE("other scenes do not agree, and what shows nothing cannot be placed") {
    const test::Scene scene(kGrid, 7);
    const Plane reference = plain(scene);
    const test::Scene other(kGrid, 70);
    const auto strange = merge::find_similarity(reference.view(), plain(other).view(), {});
    REQUIRE_FALSE(strange.ok());
    CHECK(strange.reason() == Reject::weak_peak);
    Plane flat(kGrid);
    flat.fill(0.5F);
    for (const auto& found : {merge::find_similarity(reference.view(), flat.view(), {}),
                              merge::find_similarity(flat.view(), reference.view(), {}),
                              merge::find_similarity(reference.view(), Plane(20, 20).view(), {})}) {
      REQUIRE_FALSE(found.ok());
      CHECK(found.reason() == Reject::no_structure);
    }
  }
}
