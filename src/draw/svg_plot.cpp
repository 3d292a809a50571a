#include "draw/svg_plot.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <numeric>
#include <string>
#include <string_view>
#include <vector>

#include "core/assert.h"
#include "draw/svg_marks.h"
#include "draw/xml_text.h"

namespace lull::draw {

namespace {

// Layout, in px of the picture.
constexpr double kLeft = 72;
constexpr double kTop = 44;
constexpr double kWidth = 400;
constexpr double kHeight = 320;
constexpr double kBelow = 58;
constexpr double kLegend = 208;
constexpr double kNoLegend = 28;
constexpr double kLegendRow = 20;
constexpr double kRightAxis = 64;
constexpr double kRowHeight = kTop + kHeight + kBelow;
constexpr std::size_t kFewestInRows = 4;  // as many plots and more stand in rows of two

using Sink = std::back_insert_iterator<std::string>;

// 10⁶ for a power of ten of many digits, on a logarithmic axis.
std::string tick_text(const PlotAxis& axis, double tick) {
  constexpr std::array<std::string_view, 10> kRaised = {"⁰", "¹", "²", "³", "⁴",
                                                        "⁵", "⁶", "⁷", "⁸", "⁹"};
  const std::string plain = fmt::format("{:.6g}", tick);
  if (axis.scale != PlotScale::logarithmic) return plain;
  const double power = std::round(std::log10(tick));
  if (std::abs(power) < 4 || std::abs(tick / std::pow(10.0, power) - 1) > 1e-9) return plain;
  std::string out = power < 0 ? "10⁻" : "10";
  for (const char digit : fmt::format("{:.0f}", std::abs(power)))
    out += kRaised[static_cast<std::size_t>(digit - '0')];
  return out;
}

// 0 at the low end of the axis, 1 at the high end.
double along(const PlotAxis& axis, double value) {
  const auto [low, high] = *axis.range;
  if (axis.scale == PlotScale::linear) return (value - low) / (high - low);
  return std::log(value / low) / std::log(high / low);
}

[[maybe_unused]] bool has_range(const PlotAxis& axis) {
  return axis.range && axis.range->high > axis.range->low &&
         (axis.scale == PlotScale::linear || axis.range->low > 0);
}

// With ranges, and vertical lines as series: those are drawn and named like other references.
Plot prepared(const Plot& plot) {
  Plot out = with_ranges(plot);
  const auto [low, high] = *out.y.range;
  for (const VerticalLine& line : out.vertical_lines)
    out.series.push_back({line.name, {{line.x, low}, {line.x, high}}, PlotMark::reference});
  return out;
}

double plot_width(const Plot& plot) {
  return kLeft + kWidth + (plot.right ? kRightAxis : 0) +
         (plot.series.size() > 1 ? kLegend : kNoLegend);
}

class PlotWriter {
 public:
  // @param plot  prepared.
  PlotWriter(const Plot& plot, int number, double left, Sink out)
      : plot_(plot), number_(number), left_(left + kLeft), out_(out) {
    LULL_ASSERT(has_range(plot.x) && has_range(plot.y) && (!plot.right || has_range(*plot.right)));
  }

  void write() {
    text(left_ + 0.5 * kWidth, kTop - 18, "middle", "title", plot_.title);
    for (const double tick : plot_ticks(plot_.x)) write_tick_across(tick);
    for (const double tick : plot_ticks(plot_.y)) write_tick_up(tick);
    text(left_ + 0.5 * kWidth, kTop + kHeight + 42, "middle", "label-x", plot_.x.label);
    upright_text(left_ - 50, "label-y", plot_.y.label);
    if (plot_.right) write_right_axis(*plot_.right);
    fmt::format_to(out_, "<clipPath id=\"area{}\">", number_);
    area("");
    fmt::format_to(out_, "</clipPath>\n<g clip-path=\"url(#area{})\">\n", number_);
    for (std::size_t i = 0; i < plot_.series.size(); ++i) write_series(i);
    for (const PlotLabel& label : plot_.labels)
      text(x_px(label.at.x), y_px(plot_.y, label.at.y) + 4.5, "middle", "label", label.text);
    fmt::format_to(out_, "</g>\n");
    area(" class=\"frame\"");
    if (plot_.series.size() > 1) write_legend();
  }

 private:
  [[nodiscard]] double x_px(double x) const { return left_ + kWidth * along(plot_.x, x); }

  [[nodiscard]] static double y_px(const PlotAxis& axis, double y) {
    return kTop + kHeight * (1 - along(axis, y));
  }

  void text(double x, double y, std::string_view anchor, std::string_view kind,
            std::string_view words) {
    fmt::format_to(out_,
                   "<text class=\"{}\" x=\"{:.2f}\" y=\"{:.2f}\" text-anchor=\"{}\">{}</text>\n",
                   kind, x, y, anchor, xml_text(words));
  }

  void upright_text(double x, std::string_view kind, std::string_view words) {
    fmt::format_to(out_,
                   "<text class=\"{}\" text-anchor=\"middle\" transform=\"translate({:.2f} "
                   "{:.2f}) rotate(-90)\">{}</text>\n",
                   kind, x, kTop + 0.5 * kHeight, xml_text(words));
  }

  void grid_line(double x0, double y0, double x1, double y1) {
    fmt::format_to(
        out_, "<line x1=\"{:.2f}\" y1=\"{:.2f}\" x2=\"{:.2f}\" y2=\"{:.2f}\" class=\"grid\"/>\n",
        x0, y0, x1, y1);
  }

  void area(std::string_view attributes) {
    fmt::format_to(out_, "<rect x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\"{}/>\n",
                   left_, kTop, kWidth, kHeight, attributes);
  }

  void write_tick_across(double tick) {
    const double x = x_px(tick);
    grid_line(x, kTop, x, kTop + kHeight);
    text(x, kTop + kHeight + 20, "middle", "tick-x", tick_text(plot_.x, tick));
  }

  void write_tick_up(double tick) {
    const double y = y_px(plot_.y, tick);
    grid_line(left_, y, left_ + kWidth, y);
    text(left_ - 8, y + 4.5, "end", "tick-y", tick_text(plot_.y, tick));
  }

  // Without lines of a second grid.
  void write_right_axis(const PlotAxis& axis) {
    for (const double tick : plot_ticks(axis)) {
      text(left_ + kWidth + 8, y_px(axis, tick) + 4.5, "start", "tick-right",
           tick_text(axis, tick));
    }
    upright_text(left_ + kWidth + kRightAxis - 8, "label-right", axis.label);
  }

  // Of the points; those outside the axes are cut off when drawn.
  [[nodiscard]] std::vector<PlotPoint> places(const PlotSeries& series) const {
    const bool right = plot_.right && series.side == PlotSide::right;
    const PlotAxis& axis = right ? *plot_.right : plot_.y;
    std::vector<PlotPoint> out;
    out.reserve(series.points.size());
    for (const PlotPoint& p : series.points) out.push_back({x_px(p.x), y_px(axis, p.y)});
    return out;
  }

  void write_series(std::size_t i) {
    const PlotSeries& series = plot_.series[i];
    fmt::format_to(out_, "<g class=\"series\"><title>{}</title>\n{}</g>\n", xml_text(series.name),
                   svg_mark(look_of(plot_, i), places(series), kTop + kHeight));
  }

  void write_legend() {
    const double x = left_ + kWidth + (plot_.right ? kRightAxis : 0) + 14;
    for (std::size_t i = 0; i < plot_.series.size(); ++i) {
      const double y = kTop + 10 + kLegendRow * static_cast<double>(i);
      fmt::format_to(out_, "{}", svg_sample(look_of(plot_, i), x, y));
      text(x + 37, y + 4.5, "start", "legend", plot_.series[i].name);
    }
  }

  const Plot& plot_;
  int number_;
  double left_;
  Sink out_;
};

// Where the reader's screen is dark, rules replace the colours that the attributes give (CSS Color
// Adjustment 1; style rules override presentation attributes, SVG 1.1, section 6.4).
std::string dark_style() {
  std::string style =
      "@media (prefers-color-scheme:dark){svg{fill:#eceae5}.grid{stroke:#3a3e44}"
      ".frame{stroke:#9aa0a8}.label{stroke:#16181b}[fill=\"#ffffff\"]{fill:#16181b}";
  for (const auto& [light, dark] : svg_dark_colours())
    style += fmt::format("[stroke=\"{0}\"]{{stroke:{1}}}[fill=\"{0}\"]{{fill:{1}}}", light, dark);
  return style + "}";
}

}  // namespace

void set_equal_scales(Plot& plot, PlotPoint middle, double half_width, double half_height) {
  constexpr double kAspect = kWidth / kHeight;
  constexpr double kMargin = 1.04;
  const double half = kMargin * std::max(half_height, half_width / kAspect);
  plot.x.range = PlotRange{middle.x - half * kAspect, middle.x + half * kAspect};
  plot.y.range = PlotRange{middle.y - half, middle.y + half};
}

std::string svg_plots(std::span<const Plot> plots) {
  std::vector<Plot> drawn;
  for (const Plot& plot : plots) drawn.push_back(prepared(plot));
  const std::size_t columns = drawn.size() < kFewestInRows ? drawn.size() : 2;
  std::vector<double> widths(columns);
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    double& width = widths[i % columns];
    width = std::max(width, plot_width(drawn[i]));
  }
  const std::size_t rows = columns > 0 ? (drawn.size() + columns - 1) / columns : 0;
  const double width = std::accumulate(widths.begin(), widths.end(), 0.0);
  std::string svg;
  const Sink out(svg);
  fmt::format_to(out,
                 "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                 "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"{0:.0f}\" "
                 "height=\"{1:.0f}\" viewBox=\"0 0 {0:.0f} {1:.0f}\" font-family=\"sans-serif\" "
                 "font-size=\"13\" fill=\"#222222\">\n"
                 "<style>.title{{font-size:15px}}.grid{{stroke:#e2e2e2}}"
                 ".frame{{fill:none;stroke:#555555}}"
                 // Lines do not strike labels through.
                 ".label{{paint-order:stroke;stroke:#ffffff;stroke-width:4}}{2}</style>\n"
                 "<rect width=\"{0:.0f}\" height=\"{1:.0f}\" fill=\"#ffffff\"/>\n",
                 width, kRowHeight * static_cast<double>(rows), dark_style());
  double left = 0;
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    const std::size_t row = i / columns;
    const std::size_t column = i % columns;
    if (column == 0) {
      left = 0;
      fmt::format_to(out, "<g transform=\"translate(0 {:.0f})\">\n",
                     kRowHeight * static_cast<double>(row));
    }
    PlotWriter(drawn[i], static_cast<int>(i), left, out).write();
    left += widths[column];
    if (column + 1 == columns || i + 1 == drawn.size()) fmt::format_to(out, "</g>\n");
  }
  return svg + "</svg>\n";
}

}  // namespace lull::draw
