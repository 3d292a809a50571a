#include "quality/ranking.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "core/error.h"
#include "quality/keep.h"
#include "quality/luminance.h"
#include "quality/target.h"

namespace {

using namespace lull;

Plane disc(int side, double radius, double cx, double cy, float sky, float light) {
  Plane plane(side, side);
  std::mt19937 random(9);
  std::normal_distribution<float> noise(0, 0.002F);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      plane.row(y)[x] = (std::hypot(x - cx, y - cy) < radius ? light : sky) + noise(random);
    }
  }
  return plane;
}

}  // namespace

TEST_SUITE("quality/keep") {
  TEST_CASE("reads auto, parts and numbers") {
    using namespace quality;
    CHECK(parse_keep("auto") == Keep(KeepAuto{}));
    CHECK(parse_keep("15%") == Keep(KeepFraction{0.15}));
    CHECK(parse_keep("0.5") == Keep(KeepFraction{0.5}));
    CHECK(parse_keep("300") == Keep(KeepCount{300}));
    for (const char* text :
         {"", "%", "0", "-3", "101%", "1.5", "many", "nan", "inf", "3 %", "1e99"}) {
      CAPTURE(text);
      CHECK_THROWS_AS(static_cast<void>(parse_keep(text)), UsageError);
    }
    CHECK(kept_frames(parse_keep("15%"), 200) == 30);
    CHECK(kept_frames(parse_keep("300"), 200) == 200);
    CHECK(kept_frames(parse_keep("0.1%"), 200) == 1);
    CHECK(parse_keep(to_string(parse_keep("15%"))) == parse_keep("15%"));
  }
}

TEST_SUITE("quality/target") {
  TEST_CASE("a lit disc on dark sky is a disc, a frame full of light is a surface") {
    const Plane planet = disc(96, 20, 50, 40, 0.02F, 0.5F);
    const auto target = quality::recognise_target({planet.view()});
    CHECK(target.kind == quality::TargetKind::disc);
    CHECK(target.sky == doctest::Approx(0.02).epsilon(0.2));
    const Plane ground = disc(96, 200, 50, 40, 0.02F, 0.5F);
    CHECK(quality::recognise_target({ground.view()}).kind == quality::TargetKind::field);
    const Plane limb = disc(96, 90, 96, 48, 0.02F, 0.5F);
    CHECK(quality::recognise_target({limb.view()}).kind == quality::TargetKind::field);
    const Plane nothing = disc(96, 0, 0, 0, 0.02F, 0.5F);
    CHECK(quality::recognise_target({nothing.view()}).kind == quality::TargetKind::field);
  }

  TEST_CASE("brightness of a disc is above the sky, and 0 when it is gone") {
    std::vector<float> scratch;
    const Plane planet = disc(96, 20, 50, 40, 0.02F, 0.5F);
    const auto target = quality::recognise_target({planet.view()});
    CHECK(quality::object_brightness(planet.view(), target, scratch) ==
          doctest::Approx(0.48).epsilon(0.02));
    const Plane gone = disc(96, 0, 0, 0, 0.02F, 0.5F);
    CHECK(quality::object_brightness(gone.view(), target, scratch) == 0);
  }
}

TEST_SUITE("quality/ranking") {
  // Worked by hand: 5 x 4 cells of energy 1, brightness 2.
  TEST_CASE("cells beside saturated ones do not count, unless that would leave hardly any") {
    const Size size{5 * quality::kCellPx, 4 * quality::kCellPx};
    quality::CellMeasure cells{quality::CellGrid(size), quality::CellGrid(size),
                               std::vector<bool>(20, false)};
    for (float& value : cells.energy.values()) value = 1;
    for (float& value : cells.mean.values()) value = 0.5F;
    const auto total = [&] {
      return quality::frame_energies(cells, {cells.energy}, 2, 0.1).total[0];
    };
    CHECK(total() == doctest::Approx(0.25));
    // The corner is saturated; an edge lies in the cells beside it.
    cells.saturated[0] = true;
    for (const std::size_t beside : {1U, 5U, 6U}) cells.energy.values()[beside] = 1000;
    CHECK(total() == doctest::Approx(0.25));
    // Seven of them in the middle: 13 others, all beside.
    cells.saturated.assign(20, false);
    for (const std::size_t at : {6U, 7U, 8U, 11U, 12U, 13U, 3U}) cells.saturated[at] = true;
    CHECK(total() == doctest::Approx((11 + 2 * 1000) / 13.0 / 4));
  }

  TEST_CASE("thin cloud is not blur: half the light with half the contrast is as sharp") {
    quality::CellMeasure cells{quality::CellGrid({64, 64}), quality::CellGrid({64, 64}),
                               std::vector<bool>(16, false)};
    for (float& v : cells.energy.values()) v = 0.04F + 0.01F;
    const double full = quality::frame_sharpness(cells, 0.01, 0.5, 0);
    for (float& v : cells.energy.values()) v = 0.01F + 0.01F;
    CHECK(quality::frame_sharpness(cells, 0.01, 0.25, 0) == doctest::Approx(full));
  }

  TEST_CASE("saturated cells and sky do not count") {
    quality::CellMeasure cells{quality::CellGrid({64, 64}), quality::CellGrid({64, 64}),
                               std::vector<bool>(16, false)};
    for (float& v : cells.energy.values()) v = 1;
    cells.energy.values()[5] = 1000;
    cells.saturated[5] = true;
    CHECK(quality::frame_sharpness(cells, 0, 1, 0) == doctest::Approx(1.0));
    for (float& v : cells.mean.values()) v = 0.1F;
    CHECK(quality::frame_sharpness(cells, 0, 1, 0.5) == 0);
  }

  TEST_CASE("ranks usable frames, sharpest first, ties by index") {
    std::vector<quality::FrameRecord> records(4);
    const double sharpness[] = {1, 3, 3, 9};
    for (std::size_t i = 0; i < 4; ++i) {
      records[i].index = static_cast<FrameIndex>(i);
      records[i].sharpness = sharpness[i];
    }
    records[3].reject = Reject::weak_peak;
    CHECK(quality::rank(records) == std::vector<std::size_t>{1, 2, 0});
  }
}

TEST_SUITE("quality/luminance") {
  TEST_CASE("a mosaic of even colours has even luminance, (R + 2G + B) / 4") {
    for (const auto cfa :
         {capture::Cfa::rggb, capture::Cfa::bggr, capture::Cfa::gbrg, capture::Cfa::grbg}) {
      const std::uint8_t colours[] = {200, 100, 40};
      std::vector<std::uint8_t> mosaic;
      for (int y = 0; y < 18; ++y) {
        for (int x = 0; x < 21; ++x) {
          mosaic.push_back(colours[capture::cfa_colour_at(cfa, x, y)]);
        }
      }
      capture::CaptureInfo info;
      info.size = {21, 18};
      info.colour = capture::Colour::cfa;
      info.cfa = cfa;
      capture::Frame frame;
      frame.planes[0] = {reinterpret_cast<const std::byte*>(mosaic.data()), 21, 18, 21,
                         SampleType::u8};
      quality::LuminanceBuffer buffer;
      const auto light = quality::luminance(frame, info, buffer);
      for (int y = 0; y < 18; ++y) {
        for (int x = 0; x < 21; ++x) {
          CHECK(light.scale.to_light(light.view.row<std::uint16_t>(y)[x]) ==
                doctest::Approx((200 + 2 * 100 + 40) / 4.0 / 255.0));
        }
      }
    }
  }
}
