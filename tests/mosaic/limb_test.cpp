// Covers: mosaic/limb, mosaic/limb_curve, mosaic/limb_places
#include "mosaic/limb.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <opencv2/imgproc.hpp>

#include "merge/detail.h"
#include "mosaic/layout.h"
#include "mosaic/panels.h"

using namespace lull;
using mosaic::PanelIndex;
using mosaic::PanelMap;

namespace {

constexpr Size kScene{720, 720};
constexpr Size kQuarter{420, 420};
constexpr double kCentrePx = 361.3;
constexpr double kRadiusPx = 310;

// The Sun with ground that can be registered, darkened as at 550 nm (Allen's Astrophysical
// Quantities, solar limb darkening; from memory); its height is shorter by a share.
// @param prominence  light of one beside the limb.
Plane sun(double flattening, float prominence = 0) {
  const Plane ground = test::rough_ground(kScene, 17);
  Plane out(kScene);
  for (int y = 0; y < kScene.height_px; ++y) {
    for (int x = 0; x < kScene.width_px; ++x) {
      const double r = std::hypot(x - kCentrePx, (y - kCentrePx) / (1 - flattening));
      const double edge = std::clamp(kRadiusPx - r + 0.5, 0.0, 1.0);
      const double inside = std::min(r / kRadiusPx, 1.0);
      const double mu = std::sqrt(1 - inside * inside);
      out.row(y)[x] = static_cast<float>(edge * (0.3 + 0.93 * mu - 0.23 * mu * mu)) *
                      (0.7F + 0.3F * ground.row(y)[x]);
    }
  }
  for (int y = 340; y < 380; ++y)
    for (int x = 672; x < 690; ++x) out.row(y)[x] += prominence;
  return merge::blurred(out.view(), 2);
}

struct Panels {
  std::vector<PanelMap> truth;
  std::vector<Plane> pictures;
  std::vector<mosaic::Sketch> sketches;

  [[nodiscard]] mosaic::Layout laid_out(mosaic::Limbs limb) const {
    return mosaic::lay_out(
        sketches, [this](PanelIndex i) { return test::gray(Plane::copy_of(pictures[i].view())); },
        {.limb = limb}, {});
  }
};

Panels panels_of(const Plane& scene) {
  Panels out;
  const align::SplinePlane ground(scene.view());
  for (const auto& [left, top] : {std::pair{0, 0}, {298, 4}, {3, 296}, {299, 299}})
    out.truth.push_back(test::upright(kQuarter, left, top));
  out.truth[2] = test::turned(out.truth[2], 180.3);
  double phase = 0.3;
  for (PanelMap& map : out.truth) {
    test::bend_in_waves(map, 1.9, phase += 1.1);
    out.pictures.push_back(test::seen_by(map, ground));
    out.sketches.push_back(
        mosaic::sketch_of(test::gray(Plane::copy_of(out.pictures.back().view()))));
  }
  return out;
}

// How far the true limb of panels lies off the best circle, as a layout shows it, px rms.
double true_limb_rms_px(const Panels& panels, const mosaic::Layout& layout) {
  std::vector<Displacement> seen;
  for (const PanelIndex panel : layout.group) {
    for (int i = 0; i < 360; ++i) {
      const double angle = i * std::numbers::pi / 180;
      const Displacement at = panels.truth[panel].to_panel(
          {kCentrePx + kRadiusPx * std::cos(angle), kCentrePx + kRadiusPx * std::sin(angle)});
      if (mosaic::is_inside(kQuarter, at, 30)) seen.push_back(layout.maps[panel].to_mosaic(at));
    }
  }
  const auto fit = fit_circle(seen);
  REQUIRE(fit);
  double sum = 0;
  for (const Displacement& place : seen) sum += std::pow(fit->circle.outside_px(place), 2);
  return std::sqrt(sum / static_cast<double>(seen.size()));
}

std::vector<PanelMap> unbent(const Panels& panels) {
  std::vector<PanelMap> out = panels.truth;
  for (PanelMap& map : out) map.bend = mosaic::Bend();
  return out;
}

mosaic::Limb limb_in(const Panels& panels, const std::vector<PanelMap>& maps,
                     const std::vector<PanelIndex>& group = {0, 1, 2, 3}) {
  mosaic::Shelf<mosaic::Readable> shelf(
      [&](PanelIndex i) {
        return mosaic::readable(test::gray(Plane::copy_of(panels.pictures[i].view())));
      },
      [](const mosaic::Readable& panel) { return mosaic::bytes_of(panel); }, 1e9);
  return mosaic::find_limb(panels.sketches, maps, group, shelf, {});
}

}  // namespace

TEST_SUITE("mosaic/limb") {
  TEST_CASE("bent panels show a round limb, and without the circle they do not") {
    const Panels panels = panels_of(sun(0));
    const auto any = panels.laid_out(mosaic::Limbs::any);
    REQUIRE(any.group.size() == 4);
    CHECK(any.limb.places.empty());
    CHECK(true_limb_rms_px(panels, any) > 0.6);
    const auto round = panels.laid_out(mosaic::Limbs::round);
    CHECK(round.limb.places.size() > 100);
    CHECK(true_limb_rms_px(panels, round) < 0.1);
    const auto fit = mosaic::limb_of(round.limb, round.maps);
    REQUIRE(fit);
    CHECK(fit->rms_px < 0.1);
    CHECK(std::abs(fit->curve.circle.radius_px - kRadiusPx) < 1);
  }

  TEST_CASE("places of the limb lie on it, a prominence beside it or not") {
    const Panels panels = panels_of(sun(0, 0.06F));
    const mosaic::Limb limb = limb_in(panels, panels.truth);
    CHECK(limb.places.size() > 100);
    // The steepest place lies half a pixel inside, as a blurred disc darkens towards its limb.
    for (const mosaic::LimbPlace& place : limb.places) {
      const Displacement at = panels.truth[place.panel].to_mosaic(place.place);
      CAPTURE(at.x_px);
      CAPTURE(at.y_px);
      CHECK(std::abs(std::hypot(at.x_px - kCentrePx, at.y_px - kCentrePx) - kRadiusPx + 0.5) < 0.2);
    }
  }

  TEST_CASE("a flattening of 1.2% is kept, one of 0.05% is taken for the air's") {
    for (const double flattening : {0.012, 0.0005}) {
      CAPTURE(flattening);
      const Panels panels = panels_of(sun(flattening));
      const mosaic::Limb limb = limb_in(panels, panels.truth);
      const double expected = flattening > 0.01 ? flattening : 0;
      CHECK(std::abs(limb.flattening.share() - expected) < 3e-4);
      if (expected == 0) continue;
      // The ellipse that OpenCV fits to the same places.
      std::vector<cv::Point2f> places;
      for (const mosaic::LimbPlace& place : limb.places) {
        const Displacement at = panels.truth[place.panel].to_mosaic(place.place);
        places.emplace_back(static_cast<float>(at.x_px), static_cast<float>(at.y_px));
      }
      const cv::RotatedRect ellipse = cv::fitEllipseAMS(places);
      const float least = std::min(ellipse.size.width, ellipse.size.height);
      const float most = std::max(ellipse.size.width, ellipse.size.height);
      CHECK(std::abs(limb.flattening.share() - (1 - static_cast<double>(least / most))) < 2e-4);
      const auto fit = mosaic::limb_of(limb, panels.truth);
      REQUIRE(fit);
      CHECK(std::abs(fit->curve.circle.x_px - static_cast<double>(ellipse.center.x)) < 0.05);
      CHECK(std::abs(2 * fit->curve.circle.radius_px - 0.5 * static_cast<double>(least + most)) <
            0.1);
    }
  }

  TEST_CASE("half of the limb does not tell how flat the disc is") {
    const Panels panels = panels_of(sun(0.012));
    const mosaic::Limb whole = limb_in(panels, panels.truth);
    const mosaic::Limb half = limb_in(panels, panels.truth, {0, 1});
    CHECK(whole.flattening.share() > 0.01);
    CHECK(half.places.size() > 40);
    CHECK(half.flattening.share() == 0);
    mosaic::LimbCurve curve;
    curve.circle = {0, 0, 100};
    CHECK(curve.seen_deg({{100, 1}, {99, 12}, {-100, -1}, {-100, 1}}) == 20);
  }

  TEST_CASE("an anchor lies on the limb, says nothing along it, and leads across it") {
    const Panels panels = panels_of(sun(0));
    const std::vector<PanelMap> maps = unbent(panels);
    const mosaic::Limb limb = limb_in(panels, maps);
    const auto anchors = mosaic::limb_anchors(limb, maps);
    REQUIRE(anchors.size() == limb.places.size());
    for (const mosaic::Anchor& anchor : anchors) {
      const Displacement out{anchor.mosaic.x_px - kCentrePx, anchor.mosaic.y_px - kCentrePx};
      CHECK(std::abs(std::hypot(out.x_px, out.y_px) - kRadiusPx) < 1.5);
      const double across = anchor.weight.chi2({out.x_px / kRadiusPx, out.y_px / kRadiusPx});
      const double along = anchor.weight.chi2({-out.y_px / kRadiusPx, out.x_px / kRadiusPx});
      CHECK(across > 10);
      CHECK(along < 1e-3 * across);
    }
  }

  TEST_CASE("ground without sky has no limb") {
    Panels panels;
    const align::SplinePlane ground(test::rough_ground(kScene, 18).view());
    for (const int left : {0, 290}) {
      panels.truth.push_back(test::upright(kQuarter, left, 0));
      panels.pictures.push_back(test::seen_by(panels.truth.back(), ground));
      panels.sketches.push_back(
          mosaic::sketch_of(test::gray(Plane::copy_of(panels.pictures.back().view()))));
    }
    const auto layout = panels.laid_out(mosaic::Limbs::round);
    CHECK(layout.limb.places.empty());
    CHECK_FALSE(mosaic::limb_of(layout.limb, layout.maps));
    CHECK(mosaic::limb_anchors(layout.limb, layout.maps).empty());
  }
}
