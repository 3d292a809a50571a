#include "mosaic/limb.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "mosaic/limb_places.h"

namespace lull::mosaic {

namespace {

// What places are off by the blur of their panel (0.1 px on panels of the lab), and by prominences.
constexpr double kErrorPx = 0.15;
// Between the longest radius and the shortest: what panels are distorted by makes 2 px of it on
// panels of the lab. Of a disc of 5,000 px that is 0.1%, by refraction at 35 degrees of altitude.
constexpr double kLeastFlattenedPx = 2.5;
constexpr double kWavePx = 100;  // over which bends stay alike
constexpr double kSureOf = 3;    // times the error
// A part of the limb tells circles of other sizes from ellipses badly. At the horizon itself
// refraction flattens the Sun by 17%, at 5 degrees of altitude by 2% (from memory).
constexpr double kSeenForFlatteningDeg = 240;
constexpr double kMostFlattening = 0.02;

std::vector<Displacement> in_mosaic(const std::vector<LimbPlace>& places,
                                    const std::vector<PanelMap>& maps) {
  std::vector<Displacement> out;
  out.reserve(places.size());
  for (const LimbPlace& limb : places) out.push_back(maps[limb.panel].to_mosaic(limb.place));
  return out;
}

// Up to which bends could have made it: waves around the disc, each off by what is usual.
double doubtful_flattening(const LimbFit& limb) {
  const double radius_px = limb.curve.circle.radius_px;
  const double waves = 2 * std::numbers::pi * radius_px / kWavePx;
  const double error = 2 * std::sqrt(2 / waves) * limb.rms_px / radius_px;
  return std::max(kLeastFlattenedPx / radius_px, kSureOf * error);
}

Flattening sure_flattening(const std::vector<Displacement>& places) {
  const auto limb = fit_limb(places, std::nullopt);
  if (!limb || limb->curve.seen_deg(places) < kSeenForFlatteningDeg) return {};
  const double share = limb->curve.flattening.share();
  if (share < doubtful_flattening(*limb) || share > kMostFlattening) return {};
  return limb->curve.flattening;
}

}  // namespace

Limb find_limb(const std::vector<Sketch>& sketches, const std::vector<PanelMap>& maps,
               const std::vector<PanelIndex>& group, Shelf<Readable>& shelf,
               const Progress& progress) {
  Limb out;
  const auto rough = rough_limb(sketches, maps, group);
  if (!rough) return out;
  std::int64_t done = 0;
  for (const PanelIndex panel : group) {
    progress.step("finding the limb", done++, std::ssize(group));
    const auto shown = shelf.take(panel);
    for (const Displacement& place : limb_places(*shown, maps[panel], *rough))
      out.places.push_back({panel, place});
  }
  out.flattening = sure_flattening(in_mosaic(out.places, maps));
  return out;
}

std::optional<LimbFit> limb_of(const Limb& limb, const std::vector<PanelMap>& maps) {
  return fit_limb(in_mosaic(limb.places, maps), limb.flattening);
}

std::vector<Anchor> limb_anchors(const Limb& limb, const std::vector<PanelMap>& maps) {
  std::vector<Anchor> out;
  const auto fit = limb_of(limb, maps);
  if (!fit) return out;
  constexpr double kWeight = 1 / (kErrorPx * kErrorPx);
  out.reserve(limb.places.size());
  for (const LimbPlace& own : limb.places) {
    const double angle = fit->curve.angle_rad(maps[own.panel].to_mosaic(own.place));
    const double x = std::cos(angle);
    const double y = std::sin(angle);
    out.push_back(
        {own.panel, own.place, fit->curve.at(angle), Information(x * x, x * y, y * y) * kWeight});
  }
  return out;
}

}  // namespace lull::mosaic
