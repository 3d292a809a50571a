#include "night/courses.h"

#include <algorithm>
#include <optional>

#include "core/utc.h"
#include "files/name_text.h"
#include "night/course.h"
#include "night/page_parts.h"

namespace lull::night {

namespace {

// Hours since the midnight before the first picture.
std::optional<double> hours_of(const Record& record, Utc first) {
  const auto moment = parse_iso8601(record.when);
  if (!moment) return std::nullopt;
  constexpr double kSecondsAnHour = 3600;
  constexpr std::int64_t kTicksADay = 86'400 * kTicksPerSecond;
  const Utc midnight{first.ticks - first.ticks % kTicksADay};
  return seconds_between(midnight, *moment) / kSecondsAnHour;
}

Course course_of(const Summary& summary, Course course, const char* name) {
  std::optional<Utc> first;
  for (const Record& record : summary.records) {
    if (!first) first = parse_iso8601(record.when);
    const auto value = figure(record, name);
    // A merged picture was not recorded: its parts are there.
    if (!first || !record.done || !value || !record.parts.empty()) continue;
    if (const auto hours = hours_of(record, *first))
      course.points.push_back(
          {*hours, *value, files::name_text(record.name), link_id(summary, record)});
  }
  return course;
}

}  // namespace

std::string courses_html(const Summary& summary) {
  const bool in_arcsec =
      std::all_of(summary.records.begin(), summary.records.end(), [](const Record& one) {
        return !one.done || figure(one, "resolution_arcsec") || !figure(one, "resolution_px");
      });
  std::string text;
  const auto add = [&](Course course, const char* name) {
    text += course_svg(course_of(summary, std::move(course), name));
  };
  add({"Air, D/r0", "", "Telescope over the size of steady air: lower is steadier.", {}},
      "d_over_r0");
  add({"Sharpness of the pictures",
       in_arcsec ? "arcsec" : "px",
       "Finest period that both half stacks show: lower is finer.",
       {}},
      in_arcsec ? "resolution_arcsec" : "resolution_px");
  add({"Focus",
       "px",
       "Finest detail of single frames: where it rises while the air stays, focus was lost.",
       {}},
      "frame_detail_px");
  add({"Drift", "px/s", "Speed of the object over the frame: tracking, and the mount.", {}},
      "drift");
  if (text.empty()) return {};
  return "<section><h2>Through the night</h2>\n<p class=\"note\">Each point is a picture, and "
         "leads to it. Times are UTC.</p>\n<div class=\"charts\">\n" +
         text + "</div></section>\n";
}

}  // namespace lull::night
