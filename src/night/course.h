#pragma once

#include <string>
#include <vector>

namespace lull::night {

/// A picture as a point of a course.
struct CoursePoint {
  double hours = 0;  ///< of the day, UTC, rising over midnight
  double value = 0;
  std::string name;  ///< of the picture
  std::string link;  ///< to it within the page
};

/// How a figure went through the night.
struct Course {
  std::string title;
  std::string unit;     ///< of its values: "arcsec"; empty: none
  std::string reading;  ///< one sentence on what it says
  std::vector<CoursePoint> points;
};

/// A chart of it as SVG within a page: each point is a link to its picture. Empty for fewer than
/// two points.
[[nodiscard]] std::string course_svg(const Course& course);

}  // namespace lull::night
