#include "run/mosaic_map.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <limits>
#include <numbers>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include "core/statistics.h"
#include "draw/plot.h"
#include "draw/svg_plot.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotColour;
using draw::PlotMark;
using draw::PlotPoint;

constexpr std::size_t kMostPlaces = 60;  // of moved light that are drawn
constexpr double kLineShare = 0.035;     // of the longer side: from line to line of labels

constexpr double kRoomShare = 0.13;  // of the longer side: what a label of two lines takes
constexpr double kStandsOut = 1.25;  // times the usual period of what is resolved

// Of pixels: down is up in a plot.
class MapScale {
 public:
  explicit MapScale(Size mosaic) : mosaic_(mosaic) {}

  [[nodiscard]] PlotPoint at(double x_px, double y_px) const {
    return {x_px, mosaic_.height_px - y_px};
  }

  [[nodiscard]] PlotPoint at(std::complex<double> place) const {
    return at(place.real(), place.imag());
  }

  void set_axes(Plot& map) const {
    map.x.label = "px from the left edge";
    map.y.label = "px from the lower edge";
    const PlotPoint middle = {0.5 * mosaic_.width_px, 0.5 * mosaic_.height_px};
    draw::set_equal_scales(map, middle, middle.x, middle.y);
  }

 private:
  Size mosaic_;
};

draw::PlotSeries outlines(const mosaic::Layout& layout, const MapScale& scale) {
  draw::PlotSeries series{"panels", {}, PlotMark::line, PlotColour::gray};
  for (const mosaic::PanelIndex panel : layout.group) {
    const mosaic::PanelMap& map = layout.maps[panel];
    const auto corner = [&](double x_px, double y_px) {
      const Displacement place = map.to_mosaic({x_px, y_px});
      return scale.at(place.x_px, place.y_px);
    };
    const double right = map.panel.width_px - 1.0;
    const double below = map.panel.height_px - 1.0;
    draw::add_polygon(
        std::array{corner(0, 0), corner(right, 0), corner(right, below), corner(0, below)},
        series.points);
  }
  return series;
}

draw::PlotSeries overlaps(const mosaic::Layout& layout, const MapScale& scale, bool thin) {
  draw::PlotSeries series{thin ? "overlaps of few places" : "overlaps",
                          {},
                          thin ? PlotMark::dashed : PlotMark::dotted,
                          thin ? PlotColour::orange : PlotColour::blue};
  for (const mosaic::Link& link : layout.links) {
    if ((link.ties.size() < mosaic::kFewTies) != thin) continue;
    for (const mosaic::PanelIndex panel : {link.first, link.second})
      series.points.push_back(scale.at(layout.maps[panel].middle));
    series.points.push_back(draw::kLineBreak);
  }
  return series;
}

void add_box(const Box& box, const MapScale& scale, draw::PlotSeries& series) {
  draw::add_polygon(std::array{scale.at(box.x0, box.y0), scale.at(box.x1, box.y0),
                               scale.at(box.x1, box.y1), scale.at(box.x0, box.y1)},
                    series.points);
}

// Those of the Sun's disc may reach beyond the mosaic.
draw::PlotSeries outlines_of_holes(const std::vector<mosaic::Hole>& holes, Size mosaic,
                                   const MapScale& scale) {
  draw::PlotSeries series{"holes", {}, PlotMark::line, PlotColour::orange};
  for (const mosaic::Hole& hole : holes) {
    const Box shown = hole.box.intersection({0, 0, mosaic.width_px, mosaic.height_px});
    if (!shown.empty()) add_box(shown, scale, series);
  }
  return series;
}

// As far as it lies within the mosaic.
draw::PlotSeries limb_line(const MosaicOutcome& outcome, const MapScale& scale) {
  draw::PlotSeries series{"limb", {}, PlotMark::line, PlotColour::blue};
  if (!outcome.limb) return series;
  const Size mosaic = outcome.layout.mosaic;
  for (int degree = 0; degree <= 360; ++degree) {
    const Displacement at = outcome.limb->fit.curve.at(degree * std::numbers::pi / 180);
    series.points.push_back(mosaic::is_inside(mosaic, at, 0) ? scale.at(at.x_px, at.y_px)
                                                             : draw::kLineBreak);
  }
  return series;
}

draw::PlotSeries moved_places(const mosaic::MovedLight& moved, const MapScale& scale) {
  draw::PlotSeries series{"shadows that moved", {}, PlotMark::line, PlotColour::green};
  const std::size_t drawn = std::min(moved.places.size(), kMostPlaces);
  for (std::size_t i = 0; i < drawn; ++i) add_box(moved.places[i], scale, series);
  return series;
}

// Between the middles of the two panels that are nearest to one another, px.
double least_distance(const mosaic::Layout& layout) {
  double least = std::numeric_limits<double>::infinity();
  for (const mosaic::PanelIndex panel : layout.group) {
    for (const mosaic::PanelIndex other : layout.group) {
      if (other == panel) continue;
      least = std::min(least, std::abs(layout.maps[panel].middle - layout.maps[other].middle));
    }
  }
  return least;
}

// What panels resolve at least, px, for it to be written: all where labels have room, else those
// that resolve less than is usual.
double least_written_px(const MosaicOutcome& outcome) {
  const mosaic::Layout& layout = outcome.layout;
  const double side = std::max(layout.mosaic.width_px, layout.mosaic.height_px);
  if (least_distance(layout) > kRoomShare * side) return 0;
  std::vector<double> periods;
  for (const mosaic::PanelIndex panel : layout.group) {
    if (panel < outcome.resolution_px.size() && outcome.resolution_px[panel])
      periods.push_back(*outcome.resolution_px[panel]);
  }
  return periods.empty() ? 0 : kStandsOut * median(std::move(periods));
}

// The number of each panel, and below it what it resolves.
std::vector<draw::PlotLabel> labels_of(const MosaicOutcome& outcome, const MapScale& scale) {
  const mosaic::Layout& layout = outcome.layout;
  const double line = kLineShare * std::max(layout.mosaic.width_px, layout.mosaic.height_px);
  const double least_px = least_written_px(outcome);
  std::vector<draw::PlotLabel> out;
  for (const mosaic::PanelIndex panel : layout.group) {
    const std::complex<double> middle = layout.maps[panel].middle;
    out.push_back({scale.at(middle), std::to_string(outcome.numbers[panel])});
    if (panel >= outcome.resolution_px.size()) continue;
    const std::optional<double>& resolved_px = outcome.resolution_px[panel];
    if (resolved_px && *resolved_px >= least_px)
      out.push_back({scale.at(middle + std::complex<double>(0, line)),
                     fmt::format("{:.1f} px", *resolved_px)});
  }
  return out;
}

}  // namespace

std::string mosaic_map(const MosaicOutcome& outcome) {
  const mosaic::Layout& layout = outcome.layout;
  const MapScale scale(layout.mosaic);
  Plot map;
  map.title = "Panels of the mosaic, numbered as they were given";
  scale.set_axes(map);
  for (draw::PlotSeries& series : std::array{
           outlines(layout, scale), limb_line(outcome, scale), overlaps(layout, scale, false),
           overlaps(layout, scale, true), moved_places(outcome.moved, scale),
           outlines_of_holes(outcome.holes, outcome.layout.mosaic, scale)}) {
    if (!series.points.empty()) map.series.push_back(std::move(series));
  }
  map.labels = labels_of(outcome, scale);
  return draw::svg_plots(std::span(&map, 1));
}

}  // namespace lull::run
