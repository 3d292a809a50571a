#include "sky/panels.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "sky/vector.h"

using namespace lull::sky;

TEST_SUITE("sky/panels") {
  namespace {

  constexpr double kOverlap = 0.25;

  // The Sun is over the horizon of a place of the globe: the product of its direction and that of
  // the place. sky/panels goes by the ellipse of the terminator instead.
  std::vector<SkyOffset> lit_places(const LitDisc& disc) {
    constexpr int kHalf = 150;
    const double phase = disc.phase_deg * kDegree;
    const double angle = disc.bright_limb_deg * kDegree;
    std::vector<SkyOffset> out;
    for (int i = -kHalf; i <= kHalf; ++i) {
      for (int j = -kHalf; j <= kHalf; ++j) {
        const double east = static_cast<double>(i) / kHalf;
        const double north = static_cast<double>(j) / kHalf;
        const double depth_2 = 1 - east * east - north * north;
        if (depth_2 < 0) continue;
        const double sun = (east * std::sin(angle) + north * std::cos(angle)) * std::sin(phase) +
                           std::sqrt(depth_2) * std::cos(phase);
        if (sun >= 0) out.push_back({disc.radius_arcsec * east, disc.radius_arcsec * north});
      }
    }
    return out;
  }

  // For frames whose sides lie along north and east.
  bool shows(const SkyPanel& panel, const FrameField& field, const SkyOffset& at) {
    constexpr double kRounding = 1e-6;
    return std::abs(panel.middle.east_arcsec - at.east_arcsec) <=
               0.5 * field.width_arcsec + kRounding &&
           std::abs(panel.middle.north_arcsec - at.north_arcsec) <=
               0.5 * field.height_arcsec + kRounding;
  }

  struct Case {
    LitDisc disc;
    FrameField field;
    double overlap;
    std::size_t panels;
  };

  // Radius, phase and bright limb, frame and overlap. The counts were worked out with numpy: 2001 x
  // 2001 places of the disc, lit where the Sun is over their horizon; rows (or columns) over their
  // extent, frames over the extent of each row, and those that hold lit places counted.
  const std::vector<Case>& cases() {
    static const std::vector<Case> all = {
        {{930, 90, 90}, {400, 250}, kOverlap, 28},  {{930, 90, 300}, {400, 250}, kOverlap, 30},
        {{930, 0, 0}, {400, 250}, kOverlap, 54},    {{930, 150, 110}, {400, 250}, kOverlap, 13},
        {{930, 40, 250}, {400, 250}, kOverlap, 50}, {{930, 90, 90}, {400, 250, 90}, kOverlap, 27},
        {{900, 60, 20}, {500, 500, 33}, 0.1, 12},   {{930, 90, 90}, {2000, 2000}, kOverlap, 1},
    };
    return all;
  }

  }  // namespace

  TEST_CASE("as many frames as numpy counts, and never more than was said before") {
    for (const Case& one : cases()) {
      CAPTURE(one.disc.phase_deg);
      CAPTURE(one.disc.bright_limb_deg);
      CAPTURE(one.field.north_deg);
      CHECK(panels_over(one.disc, one.field, one.overlap).size() == one.panels);
      CHECK(most_panels(one.disc, one.field, one.overlap) >= static_cast<double>(one.panels));
    }
  }

  TEST_CASE("every place in sunlight is in a frame, and every frame holds one") {
    for (const Case& one : cases()) {
      if (one.field.north_deg != 0) continue;
      CAPTURE(one.disc.phase_deg);
      CAPTURE(one.disc.bright_limb_deg);
      const auto places = lit_places(one.disc);
      const auto panels = panels_over(one.disc, one.field, one.overlap);
      CHECK(std::all_of(places.begin(), places.end(), [&](const SkyOffset& at) {
        return std::any_of(panels.begin(), panels.end(),
                           [&](const SkyPanel& panel) { return shows(panel, one.field, at); });
      }));
      CHECK(std::all_of(panels.begin(), panels.end(), [&](const SkyPanel& panel) {
        return std::any_of(places.begin(), places.end(),
                           [&](const SkyOffset& at) { return shows(panel, one.field, at); });
      }));
      for (const SkyOffset& at : places) REQUIRE(is_lit(one.disc, at));
    }
  }

  TEST_CASE("frames of a row overlap by the share that was asked for") {
    const FrameField field{400, 250};
    const auto panels = panels_over({930, 0, 0}, field, kOverlap);
    std::set<long> rows;
    for (const SkyPanel& panel : panels) rows.insert(std::lround(panel.middle.north_arcsec * 1000));
    CHECK(rows.size() == 10);
    CHECK(*std::next(rows.begin()) - *rows.begin() == 187'500);
    std::vector<double> easts;
    for (const SkyPanel& panel : panels) {
      if (std::lround(panel.middle.north_arcsec * 1000) == *rows.begin())
        easts.push_back(panel.middle.east_arcsec);
    }
    std::sort(easts.begin(), easts.end());
    REQUIRE(easts.size() > 1);
    for (std::size_t i = 1; i < easts.size(); ++i)
      CHECK(easts[i] - easts[i - 1] == doctest::Approx(300));
  }

  TEST_CASE("the terminator comes first, from the north, and no frame is far from the one before") {
    const LitDisc disc{930, 90, 270};
    const FrameField field{400, 250};
    const auto panels = panels_over(disc, field, kOverlap);
    const auto rest = std::find_if(panels.begin(), panels.end(),
                                   [](const SkyPanel& one) { return !one.on_terminator; });
    // A straight line from north to south, which all ten rows cross.
    CHECK(rest - panels.begin() == 10);
    CHECK(std::none_of(rest, panels.end(), [](const SkyPanel& one) { return one.on_terminator; }));
    for (auto one = panels.begin(); one + 1 != rest; ++one)
      CHECK(one->middle.north_arcsec > (one + 1)->middle.north_arcsec);
    for (auto one = panels.begin(); one != rest; ++one) {
      CHECK(one->middle.east_arcsec - 200 <= 0);
      CHECK(one->middle.east_arcsec + 200 >= 0);
    }
  }

  TEST_CASE("the outline is that of a half, a crescent and a full disc") {
    const auto half = terminator_of({900, 90, 0}, 3);
    CHECK(std::abs(half[1].north_arcsec) < 1e-9);
    CHECK(std::abs(half[0].east_arcsec) == doctest::Approx(900));
    // A quarter of the diameter is lit, from the north: (1 + cos 120 degrees) / 2.
    CHECK(terminator_of({900, 120, 0}, 3)[1].north_arcsec == doctest::Approx(450));
    CHECK(terminator_of({900, 0, 0}, 3).empty());
    CHECK(lit_limb_of({900, 0, 0}, 3).size() == 6);
    CHECK(lit_limb_of({900, 90, 90}, 3)[1].east_arcsec == doctest::Approx(900));
    CHECK(lit_limb_of({900, 90, 90}, 3)[0].north_arcsec == doctest::Approx(900));
    CHECK_FALSE(is_lit({900, 0, 0}, {700, 700}));
  }

  TEST_CASE("a camera that is turned has its corners where they are seen") {
    // North to the right: east, a quarter of a turn counter-clockwise of it, is up.
    const auto corners = corners_of({{0, 0}, false}, {400, 200, 90});
    CHECK(corners[0].east_arcsec == doctest::Approx(100));
    CHECK(corners[0].north_arcsec == doctest::Approx(-200));
    CHECK(corners[2].east_arcsec == doctest::Approx(-100));
    CHECK(corners[2].north_arcsec == doctest::Approx(200));
  }
}
