#pragma once

#include <span>
#include <string>
#include <string_view>

#include "draw/plot.h"

namespace lull::draw {

/// How a series looks on white.
struct SeriesLook {
  PlotMark mark = PlotMark::line;
  std::string_view colour;  ///< #rrggbb
  std::string_view dashes;  ///< of its line, as in stroke-dasharray; empty: none
};

/// Series of no colour of their own get up to eight colours, and lines among them dashes that
/// repeat the difference for those who do not see it.
[[nodiscard]] SeriesLook look_of(const Plot& plot, std::size_t series);

/// A colour of a series on white, and the one that stands for it on a dark ground (#16181b).
struct DarkColour {
  std::string_view light;
  std::string_view dark;
};

/// All colours that look_of() gives.
[[nodiscard]] std::span<const DarkColour> svg_dark_colours();

/// The elements that draw a series.
/// @param places  px, +y down; a place that is not finite is left out, and a line breaks there.
/// @param bottom_y  to where an area is filled, px.
[[nodiscard]] std::string svg_mark(const SeriesLook& look, std::span<const PlotPoint> places,
                                   double bottom_y);

/// The element that stands for the series in a legend: 30 px wide, from (x, y), px.
[[nodiscard]] std::string svg_sample(const SeriesLook& look, double x, double y);

}  // namespace lull::draw
