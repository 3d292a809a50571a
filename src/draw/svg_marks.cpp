#include "draw/svg_marks.h"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <vector>

namespace lull::draw {

namespace {

struct Stroke {
  std::string_view colour;
  std::string_view dashes;
};

// Dark enough on white, and apart in lightness as well as in hue.
constexpr std::array<Stroke, 8> kStrokes = {{{"#14507a", ""},
                                             {"#c2541b", "7 3"},
                                             {"#3f8f4f", "2 3"},
                                             {"#7b3f8c", "9 3 2 3"},
                                             {"#1a1a1a", "12 4"},
                                             {"#b08a00", "4 2"},
                                             {"#0f8a8a", "1 2"},
                                             {"#a8324a", "9 2 2 2 2 2"}}};
constexpr std::string_view kReferenceColour = "#8a8a8a";

constexpr std::array<DarkColour, 10> kDark = {{{"#14507a", "#56b4e9"},
                                               {"#c2541b", "#f08a4b"},
                                               {"#3f8f4f", "#5fc77a"},
                                               {"#7b3f8c", "#c78be0"},
                                               {"#1a1a1a", "#f2f2f2"},
                                               {"#b08a00", "#e6c229"},
                                               {"#0f8a8a", "#3fd0d0"},
                                               {"#a8324a", "#f27d92"},
                                               {"#8a8a8a", "#9aa0a8"},
                                               {"#6b7078", "#a9afb7"}}};

std::string_view colour_code(PlotColour colour) {
  switch (colour) {
    case PlotColour::blue:
      return kStrokes[0].colour;
    case PlotColour::orange:
      return kStrokes[1].colour;
    case PlotColour::green:
      return kStrokes[2].colour;
    case PlotColour::gray:
      break;
  }
  return "#6b7078";
}

bool is_placed(const PlotPoint& place) { return std::isfinite(place.x) && std::isfinite(place.y); }

std::string path_of(std::span<const PlotPoint> places) {
  std::string path;
  bool pen_down = false;
  for (const PlotPoint& p : places) {
    const bool placed = is_placed(p);
    if (placed) path += fmt::format("{}{:.2f} {:.2f} ", pen_down ? 'L' : 'M', p.x, p.y);
    pen_down = placed;
  }
  if (!path.empty()) path.pop_back();
  return path;
}

// Each place goes on at its height to the next one.
std::vector<PlotPoint> stepped(std::span<const PlotPoint> places) {
  std::vector<PlotPoint> out;
  for (std::size_t i = 0; i < places.size(); ++i) {
    out.push_back(places[i]);
    if (i + 1 < places.size() && is_placed(places[i]) && is_placed(places[i + 1]))
      out.push_back({places[i + 1].x, places[i].y});
  }
  return out;
}

// What lies between the unbroken parts of a line and the bottom.
std::string filled_path(std::span<const PlotPoint> places, double bottom_y) {
  std::string path;
  for (std::size_t from = 0; from < places.size(); ++from) {
    std::size_t to = from;
    while (to < places.size() && is_placed(places[to])) ++to;
    if (to == from) continue;
    path += fmt::format("M{:.2f} {:.2f} ", places[from].x, bottom_y);
    for (std::size_t i = from; i < to; ++i)
      path += fmt::format("L{:.2f} {:.2f} ", places[i].x, places[i].y);
    path += fmt::format("L{:.2f} {:.2f}Z", places[to - 1].x, bottom_y);
    from = to;
  }
  return path;
}

std::string stroke(const SeriesLook& look) {
  std::string attributes = fmt::format("stroke=\"{}\" stroke-width=\"{}\"", look.colour,
                                       look.mark == PlotMark::reference ? "1" : "1.8");
  if (!look.dashes.empty()) attributes += fmt::format(" stroke-dasharray=\"{}\"", look.dashes);
  return attributes;
}

std::string line(const SeriesLook& look, std::span<const PlotPoint> places) {
  return fmt::format("<path fill=\"none\" {} d=\"{}\"/>\n", stroke(look), path_of(places));
}

std::string fill(const SeriesLook& look, const std::string& path) {
  return fmt::format("<path class=\"fill\" fill=\"{}\" fill-opacity=\"0.25\" d=\"{}\"/>\n",
                     look.colour, path);
}

std::string circle(const SeriesLook& look, const PlotPoint& place) {
  std::string_view filled = look.colour;
  std::string rest = "fill-opacity=\"0.7\"";
  if (look.mark != PlotMark::dots) {
    filled = look.mark == PlotMark::points ? "#ffffff" : "none";
    rest = fmt::format("stroke=\"{}\" stroke-width=\"1.2\"", look.colour);
  }
  return fmt::format("<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"2.6\" fill=\"{}\" {}/>\n", place.x,
                     place.y, filled, rest);
}

std::string circles(const SeriesLook& look, std::span<const PlotPoint> places) {
  std::string out;
  for (const PlotPoint& place : places) {
    if (is_placed(place)) out += circle(look, place);
  }
  return out;
}

}  // namespace

std::span<const DarkColour> svg_dark_colours() { return kDark; }

SeriesLook look_of(const Plot& plot, std::size_t series) {
  const PlotSeries& drawn = plot.series[series];
  const Stroke& next = kStrokes[coloured_before(plot, series) % kStrokes.size()];
  SeriesLook look{drawn.mark, drawn.colour ? colour_code(*drawn.colour) : next.colour, ""};
  if (drawn.mark == PlotMark::reference) look.colour = kReferenceColour;
  if (drawn.mark == PlotMark::dashed) look.dashes = "7 5";
  if (drawn.mark == PlotMark::dotted) look.dashes = "2 4";
  if (drawn.mark == PlotMark::line && !drawn.colour) look.dashes = next.dashes;
  return look;
}

std::string svg_mark(const SeriesLook& look, std::span<const PlotPoint> places, double bottom_y) {
  switch (look.mark) {
    case PlotMark::dots:
    case PlotMark::rings:
      return circles(look, places);
    case PlotMark::points:
      return line(look, places) + circles(look, places);
    case PlotMark::steps:
      return line(look, stepped(places));
    case PlotMark::area: {
      const std::vector<PlotPoint> edge = stepped(places);
      return fill(look, filled_path(edge, bottom_y)) + line(look, edge);
    }
    case PlotMark::line:
    case PlotMark::dashed:
    case PlotMark::dotted:
    case PlotMark::reference:
      break;
  }
  return line(look, places);
}

std::string svg_sample(const SeriesLook& look, double x, double y) {
  const PlotPoint middle{x + 15, y};
  if (look.mark == PlotMark::dots || look.mark == PlotMark::rings) return circle(look, middle);
  std::string out =
      fmt::format("<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" {}/>\n", x, y,
                  x + 30, y, stroke(look));
  if (look.mark == PlotMark::points) out += circle(look, middle);
  if (look.mark == PlotMark::area) {
    const std::vector<PlotPoint> edge = {{x, y}, {x + 30, y}};
    out += fill(look, filled_path(edge, y + 6));
  }
  return out;
}

}  // namespace lull::draw
