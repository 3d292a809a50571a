#include "report/levels_plot.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace lull::report {

namespace {

using draw::PlotColour;
using draw::PlotMark;

constexpr std::size_t kBins = 128;

struct Range {
  double low = std::numeric_limits<double>::max();
  double high = std::numeric_limits<double>::lowest();

  void take_in(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
};

Range range_of(const files::PictureView& picture) {
  Range range;
  for (const PlaneView& plane : picture.channels) {
    for (int y = 0; y < plane.height_px; ++y) {
      const auto [low, high] = std::minmax_element(plane.row(y), plane.row(y) + plane.width_px);
      range.take_in(static_cast<double>(*low));
      range.take_in(static_cast<double>(*high));
    }
  }
  return range;
}

// Empty bins are left out, as the axis is logarithmic.
std::vector<draw::PlotPoint> counts_of(PlaneView plane, const Range& range) {
  const double width = range.high > range.low ? (range.high - range.low) / kBins : 1;
  std::vector<draw::PlotPoint> counts;
  for (std::size_t i = 0; i <= kBins; ++i)
    counts.push_back({range.low + width * static_cast<double>(i), 0});
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px; ++x) {
      const double at = (static_cast<double>(plane.row(y)[x]) - range.low) / width;
      counts[std::min(static_cast<std::size_t>(at), kBins - 1)].y += 1;
    }
  }
  for (draw::PlotPoint& count : counts) {
    if (count.y == 0) count.y = std::numeric_limits<double>::quiet_NaN();
  }
  return counts;
}

}  // namespace

draw::Plot levels_plot(const files::PictureView& picture, const std::optional<LevelMarks>& marks) {
  draw::Plot plot{"Levels of this picture",
                  {"Level, share of full scale"},
                  {"Number of pixels", draw::PlotScale::logarithmic},
                  {}};
  Range range = range_of(picture);
  if (picture.channels.size() == 3) {
    constexpr std::array<const char*, 3> kNames = {"Red", "Green", "Blue"};
    constexpr std::array kMarks = {PlotMark::dashed, PlotMark::line, PlotMark::dotted};
    constexpr std::array kColours = {PlotColour::orange, PlotColour::green, PlotColour::blue};
    for (std::size_t c = 0; c < 3; ++c) {
      plot.series.push_back(
          {kNames[c], counts_of(picture.channels[c], range), kMarks[c], kColours[c]});
    }
  } else {
    plot.series.push_back(
        {"Pixels", counts_of(picture.channels[0], range), PlotMark::line, PlotColour::blue});
  }
  if (marks) {
    plot.vertical_lines = {{marks->black, "black"}, {marks->white, "white"}};
    range.take_in(marks->black);
    range.take_in(marks->white);
  }
  const double rim = range.high > range.low ? 0.02 * (range.high - range.low) : 0.5;
  plot.x.range = draw::PlotRange{range.low - rim, range.high + rim};
  return plot;
}

}  // namespace lull::report
