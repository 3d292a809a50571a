#pragma once

#include <vector>

#include "align/spline_plane.h"
#include "core/plane.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"

namespace lull::mosaic {

/// A panel's luminance, and its noise where there are half stacks, that can be read between their
/// samples.
struct Readable {
  Size size;
  align::SplinePlane luminance;
  std::vector<align::SplinePlane> noise;  ///< one, or none
};

[[nodiscard]] Readable readable(const PanelPicture& picture);

[[nodiscard]] double bytes_of(const Readable& panel);

/// The middle of a patch that two panels show, in the mosaic and in both.
struct SharedPlace {
  Displacement mosaic;
  Displacement first;
  Displacement second;
};

/// Middles of all patches of that size, so far apart, that lie whole in both panels.
[[nodiscard]] std::vector<SharedPlace> shared_places(const PanelMap& first, const PanelMap& second,
                                                     int window_px, int spacing_px);

/// A part of the mosaic, from `origin` on, as a panel shows it.
void read_part(const align::SplinePlane& panel, const PanelMap& map, Displacement origin,
               MutablePlaneView out);

/// A patch of the mosaic about a place of it, as a panel shows it: turned, and bent back, as the
/// map says.
void read_patch(const align::SplinePlane& panel, const PanelMap& map, Displacement middle,
                Plane& out);

}  // namespace lull::mosaic
