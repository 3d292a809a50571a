#pragma once

#include <cstdint>

#include "align/spline_plane.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"

namespace lull::test {

/// An invented surface with detail everywhere, values about 0.3 to 0.7.
[[nodiscard]] Plane rough_ground(Size size, std::uint32_t seed);

/// What a panel of that map shows of a ground whose pixels are those of the mosaic.
[[nodiscard]] Plane seen_by(const mosaic::PanelMap& map, const align::SplinePlane& ground);

/// A map without distortion and bend. @param left,top  where the panel's first pixel lies.
[[nodiscard]] mosaic::PanelMap upright(Size panel, double left_px, double top_px);

/// The same turned about its middle.
[[nodiscard]] mosaic::PanelMap turned(mosaic::PanelMap map, double degrees, double scale = 1);

/// What the air does: waves of that amplitude and length.
void bend_in_waves(mosaic::PanelMap& map, double amplitude_px, double phase_rad,
                   double length_px = 150);

/// One channel without half stacks.
[[nodiscard]] mosaic::PanelPicture gray(Plane light);

/// Root mean square of the distance at which two maps lay the panel's pixels, px, after the mean
/// of it is taken off.
[[nodiscard]] double apart_px(const mosaic::PanelMap& one, const mosaic::PanelMap& other);

}  // namespace lull::test
