#include "draw/svg_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <string_view>

#include "core/assert.h"
#include "draw/xml_text.h"

namespace lull::draw {

namespace {

// Layout, in px of the picture.
constexpr double kLeft = 72;
constexpr double kTop = 44;
constexpr double kWidth = 400;
constexpr double kHeight = 320;
constexpr double kBelow = 58;
constexpr double kLegend = 168;
constexpr double kNoLegend = 28;
constexpr double kLegendRow = 20;

// Dark enough on white, and apart in lightness as well as in hue; dashes repeat the difference
// for those who do not see it.
struct LineLook {
  std::string_view colour;
  std::string_view dashes;
};

constexpr std::array<LineLook, 8> kLooks = {{{"#14507a", ""},
                                             {"#c2541b", "7 3"},
                                             {"#3f8f4f", "2 3"},
                                             {"#7b3f8c", "9 3 2 3"},
                                             {"#1a1a1a", "12 4"},
                                             {"#b08a00", "4 2"},
                                             {"#0f8a8a", "1 2"},
                                             {"#a8324a", "9 2 2 2 2 2"}}};

using Sink = std::back_insert_iterator<std::string>;

// 0 at the low end of the axis, 1 at the high end.
double along(const PlotAxis& axis, double value) {
  if (axis.scale == PlotScale::linear) return (value - axis.low) / (axis.high - axis.low);
  return std::log(value / axis.low) / std::log(axis.high / axis.low);
}

[[maybe_unused]] bool has_range(const PlotAxis& axis) {
  return axis.high > axis.low && (axis.scale == PlotScale::linear || axis.low > 0);
}

class PlotWriter {
 public:
  PlotWriter(const Plot& plot, int number, double left, Sink out)
      : plot_(plot), number_(number), left_(left + kLeft), out_(out) {
    LULL_ASSERT(has_range(plot.x) && has_range(plot.y));
  }

  void write() {
    text(left_ + 0.5 * kWidth, kTop - 18, "middle", "title", plot_.title);
    for (const double tick : plot_ticks(plot_.x)) write_tick_across(tick);
    for (const double tick : plot_ticks(plot_.y)) write_tick_up(tick);
    text(left_ + 0.5 * kWidth, kTop + kHeight + 42, "middle", "label-x", plot_.x.label);
    const double middle = kTop + 0.5 * kHeight;
    fmt::format_to(out_,
                   "<text class=\"label-y\" text-anchor=\"middle\" transform=\"translate({:.2f} "
                   "{:.2f}) rotate(-90)\">{}</text>\n",
                   left_ - 50, middle, xml_text(plot_.y.label));
    fmt::format_to(out_, "<clipPath id=\"area{}\">", number_);
    area("");
    fmt::format_to(out_, "</clipPath>\n<g clip-path=\"url(#area{})\">\n", number_);
    for (std::size_t i = 0; i < plot_.series.size(); ++i) write_series(plot_.series[i], look(i));
    fmt::format_to(out_, "</g>\n");
    area(" class=\"frame\"");
    if (plot_.series.size() > 1) write_legend();
  }

 private:
  // The grey of references takes no colour from the lines.
  [[nodiscard]] LineLook look(std::size_t series) const {
    if (plot_.series[series].mark == PlotMark::reference) return {"#8a8a8a", ""};
    const auto before = static_cast<std::size_t>(std::count_if(
        plot_.series.begin(), plot_.series.begin() + static_cast<std::ptrdiff_t>(series),
        [](const PlotSeries& s) { return s.mark != PlotMark::reference; }));
    return kLooks[before % kLooks.size()];
  }

  [[nodiscard]] double x_px(double x) const { return left_ + kWidth * along(plot_.x, x); }

  [[nodiscard]] double y_px(double y) const { return kTop + kHeight * (1 - along(plot_.y, y)); }

  // Whether the point has a place; those outside the axes have, but are cut off.
  [[nodiscard]] bool has_place(const PlotPoint& p) const {
    return std::isfinite(x_px(p.x)) && std::isfinite(y_px(p.y));
  }

  void text(double x, double y, std::string_view anchor, std::string_view kind,
            std::string_view words) {
    fmt::format_to(out_,
                   "<text class=\"{}\" x=\"{:.2f}\" y=\"{:.2f}\" text-anchor=\"{}\">{}</text>\n",
                   kind, x, y, anchor, xml_text(words));
  }

  void line(double x0, double y0, double x1, double y1, std::string_view attributes) {
    fmt::format_to(out_, "<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" {}/>\n", x0,
                   y0, x1, y1, attributes);
  }

  void area(std::string_view attributes) {
    fmt::format_to(out_, "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\"{}/>\n",
                   left_, kTop, kWidth, kHeight, attributes);
  }

  void write_tick_across(double tick) {
    const double x = x_px(tick);
    line(x, kTop, x, kTop + kHeight, "class=\"grid\"");
    text(x, kTop + kHeight + 20, "middle", "tick-x", fmt::format("{:.6g}", tick));
  }

  void write_tick_up(double tick) {
    const double y = y_px(tick);
    line(left_, y, left_ + kWidth, y, "class=\"grid\"");
    text(left_ - 8, y + 4.5, "end", "tick-y", fmt::format("{:.6g}", tick));
  }

  static std::string stroke(const PlotSeries& series, const LineLook& look) {
    std::string attributes = fmt::format("stroke=\"{}\" stroke-width=\"{}\"", look.colour,
                                         series.mark == PlotMark::reference ? "1" : "1.8");
    if (!look.dashes.empty()) attributes += fmt::format(" stroke-dasharray=\"{}\"", look.dashes);
    return attributes;
  }

  void write_series(const PlotSeries& series, const LineLook& look) {
    fmt::format_to(out_, "<g class=\"series\"><title>{}</title>\n", xml_text(series.name));
    if (series.mark == PlotMark::dots) {
      for (const PlotPoint& p : series.points) {
        if (has_place(p)) dot(x_px(p.x), y_px(p.y), look);
      }
    } else {
      fmt::format_to(out_, "<path fill=\"none\" {} d=\"{}\"/>\n", stroke(series, look),
                     path_of(series.points));
    }
    fmt::format_to(out_, "</g>\n");
  }

  void dot(double x, double y, const LineLook& look) {
    fmt::format_to(out_,
                   "<circle cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"2.6\" fill=\"{}\" "
                   "fill-opacity=\"0.7\"/>\n",
                   x, y, look.colour);
  }

  [[nodiscard]] std::string path_of(const std::vector<PlotPoint>& points) const {
    std::string path;
    bool pen_down = false;
    for (const PlotPoint& p : points) {
      const bool place = has_place(p);
      if (place)
        path += fmt::format("{}{:.2f} {:.2f} ", pen_down ? 'L' : 'M', x_px(p.x), y_px(p.y));
      pen_down = place;
    }
    if (!path.empty()) path.pop_back();
    return path;
  }

  void write_legend() {
    const double x = left_ + kWidth + 14;
    for (std::size_t i = 0; i < plot_.series.size(); ++i) {
      const PlotSeries& series = plot_.series[i];
      const double y = kTop + 10 + kLegendRow * static_cast<double>(i);
      if (series.mark == PlotMark::dots) {
        dot(x + 15, y, look(i));
      } else {
        line(x, y, x + 30, y, stroke(series, look(i)));
      }
      text(x + 37, y + 4.5, "start", "legend", series.name);
    }
  }

  const Plot& plot_;
  int number_;
  double left_;
  Sink out_;
};

double full_width(const Plot& plot) {
  return kLeft + kWidth + (plot.series.size() > 1 ? kLegend : kNoLegend);
}

}  // namespace

std::string svg_plots(std::span<const Plot> plots) {
  double width = 0;
  for (const Plot& plot : plots) width += full_width(plot);
  const double height = kTop + kHeight + kBelow;
  std::string svg;
  const Sink out(svg);
  fmt::format_to(out,
                 "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                 "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{0:.0f}\" "
                 "height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" font-family=\"sans-serif\" "
                 "font-size=\"13\" fill=\"#222222\">\n"
                 "<style>.title{{font-size:15px}}.grid{{stroke:#e2e2e2}}"
                 ".frame{{fill:none;stroke:#555555}}</style>\n"
                 "<rect width=\"{0:.0f}\" height=\"{1:.0f}\" fill=\"#ffffff\"/>\n",
                 width, height);
  double left = 0;
  int number = 0;
  for (const Plot& plot : plots) {
    PlotWriter(plot, number++, left, out).write();
    left += full_width(plot);
  }
  return svg + "</svg>\n";
}

}  // namespace lull::draw
