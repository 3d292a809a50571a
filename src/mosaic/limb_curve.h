#pragma once

#include <optional>
#include <vector>

#include "core/disc_edge.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"

namespace lull::mosaic {

/// How refraction has flattened a disc: its radius grows by `by_cosine` times the cosine of twice
/// the angle, and by `by_sine` times its sine.
struct Flattening {
  double by_cosine = 0;
  double by_sine = 0;

  /// Share by which the shortest radius is shorter than the longest.
  [[nodiscard]] double share() const;
};

/// The edge of a disc in the mosaic.
struct LimbCurve {
  Circle circle;
  Flattening flattening;

  [[nodiscard]] double radius_px(double angle_rad) const;
  /// The place of the curve in that direction from its centre.
  [[nodiscard]] Displacement at(double angle_rad) const;
  [[nodiscard]] double angle_rad(Displacement place) const;

  /// How much of the limb places lie along, in steps of 5 degrees.
  [[nodiscard]] double seen_deg(const std::vector<Displacement>& places) const;
};

/// A circle through the edge of the disc as the panels' sketches show it, right to a few px: where
/// brightness crosses a fifth of the way from sky to disc.
/// @return none where they show no such edge over 30 degrees or more, or it is no circle.
[[nodiscard]] std::optional<LimbCurve> rough_limb(const std::vector<Sketch>& sketches,
                                                  const std::vector<PanelMap>& maps,
                                                  const std::vector<PanelIndex>& group);

/// A curve and how far the places that it was fitted to lie off.
struct LimbFit {
  LimbCurve curve;
  double rms_px = 0;  ///< those that count little left out
};

/// The curve closest to places of the limb in the mosaic: least squares with less weight for what
/// lies off. @param flattening  none: as the places show it.
/// @return none where they make no circle, even roughly.
[[nodiscard]] std::optional<LimbFit> fit_limb(const std::vector<Displacement>& places,
                                              const std::optional<Flattening>& flattening);

}  // namespace lull::mosaic
