#pragma once

#include <span>
#include <string>

#include "draw/plot.h"

namespace lull::draw {

/// Gives both axes ranges on which a unit has the same length, for maps.
/// @param half_width,half_height  so much is shown on either side of the middle, and a margin.
void set_equal_scales(Plot& plot, PlotPoint middle, double half_width, double half_height);

/// A picture of the plots side by side, as one self-contained SVG 1.1 document (W3C 2011): no
/// scripts, no outside fonts or files. Axes without a range get one (with_ranges). Series
/// are clipped to the axes. Vertical lines look like references. More than one series or line
/// gets a legend. Names are escaped; bytes that XML does not allow become '?'.
[[nodiscard]] std::string svg_plots(std::span<const Plot> plots);

}  // namespace lull::draw
