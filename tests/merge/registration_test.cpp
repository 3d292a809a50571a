#include "merge/registration.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/scene.h"

TEST_SUITE("merge/registration") {
  namespace {

  using namespace lull;

  constexpr Size kSize{176, 144};

  // A smooth bend of 0.5 px, as stacks have against each other, on a turn and a shift.
  Displacement moved(double x, double y) {
    const double turn = 0.008;
    const Displacement r = Displacement{x, y} - merge::middle_of(kSize);
    return {2.3 - turn * r.y_px + 0.5 * std::sin(x / 45),
            -1.2 + turn * r.x_px + 0.5 * std::cos(y / 40)};
  }

  // The picture that shows grid place p at p + moved(p).
  Plane bent(const test::Scene& scene) {
    return scene.seen(kSize, [](int x, int y) {
      Displacement d = moved(x, y);
      for (int i = 0; i < 20; ++i) d = moved(x - d.x_px, y - d.y_px);
      return Displacement{-d.x_px, -d.y_px};
    });
  }

  double error_px(const merge::Placement& placed) {
    double sum = 0;
    int count = 0;
    std::vector<float> x(placed.field.row_size());
    std::vector<float> y(placed.field.row_size());
    for (int row = 16; row < kSize.height_px - 16; row += 4) {
      placed.coordinates(row, x.data(), y.data());
      for (int i = 16; i < kSize.width_px - 16; i += 4) {
        const Displacement expected = Displacement{double(i), double(row)} + moved(i, row);
        const double dx = static_cast<double>(x[static_cast<std::size_t>(i)]) - expected.x_px;
        const double dy = static_cast<double>(y[static_cast<std::size_t>(i)]) - expected.y_px;
        sum += dx * dx + dy * dy;
        ++count;
      }
    }
    return std::sqrt(sum / count);
  }

  }  // namespace

  TEST_CASE("follows a smooth bend to 0.1 px rms, which a similarity alone leaves") {
    const test::Scene scene(kSize, 12);
    Plane reference = scene.seen(kSize, [](int, int) { return Displacement{}; });
    Plane picture = bent(scene);
    scale(picture.view(), 1.4F);
    test::add_noise(reference.view(), 0.005, 3);
    test::add_noise(picture.view(), 0.005, 4);
    const auto rigid =
        merge::register_picture(reference.view(), picture.view(), {}, merge::Bend::left);
    const auto followed =
        merge::register_picture(reference.view(), picture.view(), {}, merge::Bend::followed);
    REQUIRE(rigid.ok());
    REQUIRE(followed.ok());
    CHECK(error_px(rigid.value()) > 0.2);
    CHECK(error_px(followed.value()) < 0.1);
  }

  TEST_CASE("brings the picture onto the grid, and knows what of it is covered") {
    const test::Scene scene(kSize, 12);
    const Plane reference = scene.seen(kSize, [](int, int) { return Displacement{}; });
    merge::Placement placed = merge::in_place(kSize);
    placed.whole.shift = {-3, 5};
    const Plane picture = scene.seen(kSize, [](int, int) { return Displacement{3, -5}; });
    const Plane brought = placed.brought(align::SplinePlane(picture.view()));
    const Plane covered = placed.covered({0, 0, kSize.width_px, kSize.height_px});
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const bool inside = x >= 3 && y + 5 < kSize.height_px;
        CHECK(covered.row(y)[x] == (inside ? 1.0F : 0.0F));
        if (inside)
          CHECK(std::abs(static_cast<double>(brought.row(y)[x] - reference.row(y)[x])) < 1e-4);
      }
    }
  }
}
