#include "night/course.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "draw/plot.h"
#include "draw/xml_text.h"

namespace lull::night {

namespace {

using draw::PlotAxis;

constexpr double kWidth = 520;
constexpr double kHeight = 240;
constexpr double kLeft = 58;
constexpr double kRight = 30;
constexpr double kTop = 12;
constexpr double kBottom = 34;
constexpr double kRadius = 6;
constexpr double kHoursADay = 24;

double place(const PlotAxis& axis, double value, double from, double to) {
  return from + (to - from) * (value - axis.range->low) / (axis.range->high - axis.range->low);
}

double x_of(const PlotAxis& axis, double hours) {
  return place(axis, hours, kLeft, kWidth - kRight);
}

double y_of(const PlotAxis& axis, double value) {
  return place(axis, value, kHeight - kBottom, kTop);
}

std::string clock(double hours) {
  const auto minutes = static_cast<int>(std::lround(hours * 60));
  return fmt::format("{:02}:{:02}", minutes / 60 % static_cast<int>(kHoursADay), minutes % 60);
}

std::string axes(const PlotAxis& x, const PlotAxis& y) {
  std::string text;
  for (const double tick : draw::plot_ticks(y)) {
    const double at = y_of(y, tick);
    text += fmt::format(
        "<line class=\"axis\" x1=\"{}\" x2=\"{}\" y1=\"{:.1f}\" y2=\"{:.1f}\"/>"
        "<text x=\"{}\" y=\"{:.1f}\" text-anchor=\"end\">{:g}</text>",
        kLeft, kWidth - kRight, at, at, kLeft - 8, at + 4, tick);
  }
  const std::vector<double> ticks = draw::plot_ticks(x);
  const std::size_t every = std::max<std::size_t>(1, (ticks.size() + 6) / 7);
  for (std::size_t i = 0; i < ticks.size(); i += every) {
    text += fmt::format("<text x=\"{:.1f}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
                        x_of(x, ticks[i]), kHeight - 12, clock(ticks[i]));
  }
  return text;
}

std::string spoken(const Course& course, const CoursePoint& point) {
  return fmt::format("{}: {:.3g}{}{}, {} UTC", point.name, point.value,
                     course.unit.empty() ? "" : " ", course.unit, clock(point.hours));
}

}  // namespace

std::string course_svg(const Course& course) {
  if (course.points.size() < 2) return {};
  const auto range = [&](auto member) {
    const auto [least, most] = std::minmax_element(
        course.points.begin(), course.points.end(),
        [&](const CoursePoint& a, const CoursePoint& b) { return a.*member < b.*member; });
    return draw::axis_over("", (*least).*member, (*most).*member);
  };
  const PlotAxis x = range(&CoursePoint::hours);
  const PlotAxis y = range(&CoursePoint::value);
  std::string text = fmt::format(
      "<figure class=\"course\"><h3>{}{}</h3><p class=\"reading\">{}</p>"
      "<svg viewBox=\"0 0 {} {}\" role=\"group\" aria-label=\"{}\">",
      draw::xml_text(course.title), course.unit.empty() ? "" : ", " + course.unit,
      draw::xml_text(course.reading), kWidth, kHeight, draw::xml_text(course.title));
  text += axes(x, y);
  for (const CoursePoint& point : course.points) {
    const std::string words = draw::xml_text(spoken(course, point));
    text += fmt::format(
        "<a href=\"#{}\" aria-label=\"{}\"><circle class=\"mark\" cx=\"{:.1f}\" cy=\"{:.1f}\" "
        "r=\"{}\"><title>{}</title></circle></a>",
        point.link, words, x_of(x, point.hours), y_of(y, point.value), kRadius, words);
  }
  return text + "</svg></figure>\n";
}

}  // namespace lull::night
