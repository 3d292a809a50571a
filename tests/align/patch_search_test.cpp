#include "align/patch_search.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <optional>
#include <utility>

#include "support/scene.h"

TEST_SUITE("align/patch_search") {
  namespace {

  using namespace lull;
  using align::PatchSearch;
  using align::ShiftField;

  constexpr Size kFrame{256, 208};
  constexpr double kNoise = 0.002;

  /// A reference of a scene, and the search over it.
  struct Reference {
    explicit Reference(PlaneView picture) : gradient_x(picture.size()), gradient_y(picture.size()) {
      for (int y = 1; y + 1 < picture.height_px; ++y) {
        for (int x = 1; x + 1 < picture.width_px; ++x) {
          gradient_x.row(y)[x] = 0.5F * (picture.at(x + 1, y) - picture.at(x - 1, y));
          gradient_y.row(y)[x] = 0.5F * (picture.at(x, y + 1) - picture.at(x, y - 1));
        }
      }
      search.emplace(picture, gradient_x.view(), gradient_y.view(), kNoise,
                     align::PatchSearchOptions{});
    }

    /// Patches used. @param frame shows at p + offset what the reference shows at p.
    int find(PlaneView frame, ShiftField& field) const {
      align::PaddedFrame padded;
      padded.assign(frame);
      PatchSearch::Workspace work;
      return search->search(padded, field, work);
    }

    Plane gradient_x;
    Plane gradient_y;
    std::optional<PatchSearch> search;
  };

  Plane still(const test::Scene& scene, Size size) {
    return scene.seen(size, [](int, int) { return Displacement{}; });
  }

  double distance(FrameOffset a, FrameOffset b) {
    return std::hypot(a.x_px - b.x_px, a.y_px - b.y_px);
  }

  }  // namespace

  // The truth is the movement of an invented scene that is evaluated exactly at any place.
  TEST_CASE("the local shift is what the whole shift leaves, also where that is no whole number") {
    const test::Scene scene(kFrame, 41);
    const Plane reference = still(scene, kFrame);
    const Reference searched(reference.view());
    REQUIRE(searched.search->patch_count() == 20);  // 5 x 4, 48 px apart
    const FrameOffset truth{3.3, -2.4};
    const Plane frame = scene.seen(kFrame, [&](int, int) {
      return Displacement{-truth.x_px, -truth.y_px};
    });
    const auto field_from = [&](FrameOffset whole) {
      ShiftField field(kFrame, whole);
      CHECK(searched.find(frame.view(), field) >= 6);
      return field;
    };
    const ShiftField plain = field_from({3, -2});
    // All of these are rounded to the same place, where the same pixels are compared: what they add
    // to it must come off the local shift. With the wrong sign it would be there twice: 1.1 px. The
    // prior of no local shift takes a part of it.
    for (const FrameOffset whole : {FrameOffset{3.4, -2.4}, {2.6, -1.6}, {3.45, -1.55}}) {
      CAPTURE(whole.x_px);
      const ShiftField field = field_from(whole);
      for (const auto& [x, y] : {std::pair{100, 100}, {128, 104}, {150, 96}}) {
        CHECK(distance(plain.at(x, y), truth) < 0.3);  // 0.5 px without the search
        CHECK(distance(field.at(x, y), plain.at(x, y)) < 0.2);
      }
    }
  }

  TEST_CASE("a patch that moved far off its neighbours is rejected") {
    const test::Scene scene(kFrame, 42);
    const Plane reference = still(scene, kFrame);
    const Reference searched(reference.view());
    const Box odd{96, 48, 160, 112};  // the third patch of the second row
    const Plane frame = scene.seen(kFrame, [&](int x, int y) {
      const bool inside = x >= odd.x0 && x < odd.x1 && y >= odd.y0 && y < odd.y1;
      return Displacement{inside ? 8.0 : 0.0, 0};
    });
    ShiftField calm(kFrame);
    const int all = searched.find(reference.view(), calm);
    REQUIRE(all == 20);
    ShiftField field(kFrame);
    CHECK(searched.find(frame.view(), field) < all);
    // It would pull the field by pixels: its own weight is the largest in its middle.
    CHECK(distance(field.at(128, 80), {}) < 0.3);
  }

  // The reference's place of what a frame shows at (x, y), by the inverse rotation, written anew.
  TEST_CASE("in a field that turns by 15 degrees the patches are turned back before they match") {
    const test::Scene scene(kFrame, 45);
    const Plane reference = still(scene, kFrame);
    const Reference searched(reference.view());
    const double turn = 15 * std::numbers::pi / 180;
    const FrameOffset whole{2.3, -1.6};
    const Displacement air{0.8, -0.5};  // along the axes of the reference
    const Plane frame = scene.seen(kFrame, [&](int x, int y) {
      const double dx = x - whole.x_px - 127.5;
      const double dy = y - whole.y_px - 103.5;
      return Displacement{127.5 + std::cos(turn) * dx + std::sin(turn) * dy - air.x_px - x,
                          103.5 - std::sin(turn) * dx + std::cos(turn) * dy - air.y_px - y};
    });
    ShiftField field(kFrame, whole);
    field.turn = turn;
    CHECK(searched.find(frame.view(), field) >= 8);  // those in the corners have left the frame
    for (const auto& [x, y] : {std::pair{100, 100}, {128, 104}, {150, 96}}) {
      const FrameOffset local = field.at(x, y) - field.rigid_at(x, y);
      const double dx = std::cos(turn) * air.x_px - std::sin(turn) * air.y_px;
      const double dy = std::sin(turn) * air.x_px + std::cos(turn) * air.y_px;
      CHECK(distance(local, {dx, dy}) < 0.3);
    }
    ShiftField straight(kFrame, whole);
    CHECK(searched.find(frame.view(), straight) < 8);
  }

  TEST_CASE("one patch alone is not believed: nobody confirms it") {
    const Size small{64, 64};
    const test::Scene scene(small, 43);
    const Plane reference = still(scene, small);
    const Reference searched(reference.view());
    REQUIRE(searched.search->patch_count() == 1);
    ShiftField field(small);
    CHECK(searched.find(reference.view(), field) == 0);
    CHECK(field.local_rms_px() == 0);
  }

  TEST_CASE("no patch where there is no structure, or no room for one") {
    Plane flat(kFrame);
    flat.fill(0.5F);
    CHECK(Reference(flat.view()).search->patch_count() == 0);
    const Size narrow{63, 200};
    CHECK(Reference(still(test::Scene(narrow, 44), narrow).view()).search->patch_count() == 0);
    ShiftField field(kFrame, {1, 1});
    CHECK(Reference(flat.view()).find(flat.view(), field) == 0);
    CHECK(field.local_rms_px() == 0);
  }

  TEST_CASE("stripes say nothing along themselves: no patch of them is searched") {
    for (const bool across : {true, false}) {
      Plane stripes(kFrame);
      for (int y = 0; y < kFrame.height_px; ++y)
        for (int x = 0; x < kFrame.width_px; ++x)
          stripes.row(y)[x] = static_cast<float>(0.5 + 0.3 * std::sin((across ? x : y) / 3.0));
      CHECK(Reference(stripes.view()).search->patch_count() == 0);
    }
  }

  TEST_CASE("a large reference has wider spaces between its patches, and no more than 60 or so") {
    const Size large{520, 420};
    const test::Scene scene(large, 45);
    const Reference searched(still(scene, large).view());
    // sqrt(520 * 420 / 60) = 60 px apart: 8 x 6 places; 48 px apart there would be 10 x 8.
    CHECK(searched.search->patch_count() == 48);
  }
}
