#include "mosaic/panel.h"

#include <doctest/doctest.h>

#include <utility>

#include "mosaic/panels.h"

using namespace lull;

TEST_SUITE("mosaic/panel") {
  TEST_CASE("a sketch holds means over squares, and knows where a place of the panel lies in it") {
    const Size size{1300, 40};
    Plane light(size);
    for (int y = 0; y < size.height_px; ++y)
      for (int x = 0; x < size.width_px; ++x) light.row(y)[x] = static_cast<float>(x);
    const mosaic::Sketch sketch = mosaic::sketch_of(test::gray(std::move(light)));
    CHECK(sketch.side == 3);  // 1300 px to 640 at most
    CHECK(sketch.panel == size);
    CHECK_FALSE(sketch.has_halves);
    REQUIRE(sketch.light.size() == 1);
    CHECK(sketch.light.front().row(0)[0] == doctest::Approx(1));   // mean of 0, 1, 2
    CHECK(sketch.light.front().row(5)[9] == doctest::Approx(28));  // of 27, 28, 29
    CHECK(sketch.seen_at({28, 1}).x_px == doctest::Approx(9));
    CHECK(sketch.seen_at({28, 1}).y_px == doctest::Approx(0));
  }

  TEST_CASE("a shelf drops what was used longest ago, and holds two at least") {
    std::vector<mosaic::PanelIndex> made;
    mosaic::Shelf<int> shelf(
        [&](mosaic::PanelIndex panel) {
          made.push_back(panel);
          return static_cast<int>(10 * panel);
        },
        [](int) { return 1.0; }, 3);
    for (const mosaic::PanelIndex panel : std::vector<mosaic::PanelIndex>{0, 1, 2, 0, 3, 0, 1})
      CHECK(*shelf.take(panel) == static_cast<int>(10 * panel));
    CHECK(made == std::vector<mosaic::PanelIndex>{0, 1, 2, 3, 1});
    mosaic::Shelf<int> small([](mosaic::PanelIndex panel) { return static_cast<int>(panel); },
                             [](int) { return 100.0; }, 1);
    const auto first = small.take(7);
    CHECK(*small.take(8) == 8);
    CHECK(small.take(7) == first);
  }
}
