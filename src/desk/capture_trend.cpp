#include "desk/capture_trend.h"

#include <nlohmann/json.hpp>
#include <vector>

#include "core/statistics.h"
#include "run/object.h"
#include "sky/horizon.h"
#include "sky/moment.h"

namespace lull::desk {

namespace {

using nlohmann::json;

// Of the frames that can be used: that of the best tenth tells the calm moments, the median the
// air.
json sharpness_json(const SurveyOfCapture& survey, double quantile_of_frames) {
  std::vector<double> usable;
  usable.reserve(survey.rank.survey.records.size());
  for (const quality::FrameRecord& frame : survey.rank.survey.records) {
    if (frame.usable()) usable.push_back(frame.sharpness);
  }
  return usable.empty() ? json() : json(quantile(std::move(usable), quantile_of_frames));
}

}  // namespace

std::optional<sky::Body> body_named(const capture::FoundCapture& found) {
  return sky::body_of_name(
      run::word_of_value(run::object_in_names({found.path}), run::object_words()));
}

std::optional<double> altitude_deg(const ListedCapture& capture, const profile::Profile& profile) {
  const std::optional<sky::Body> body = body_named(capture.found);
  if (!body || !profile.site || !capture.info || !capture.info->times.begun) return std::nullopt;
  const double rate = capture.info->times.frames_per_s;
  const double half_s = rate > 0 ? static_cast<double>(capture.frames()) / rate / 2 : 0;
  const Utc middle = after(*capture.info->times.begun, half_s);
  if (!sky::is_covered(middle)) return std::nullopt;
  const sky::Site site = {profile.site->latitude_deg, profile.site->longitude_deg,
                          profile.site->height_m};
  return sky::horizontal(*body, sky::Observer(middle, site)).altitude_deg;
}

json trend_json(const ListedCapture& capture, const SurveyOfCapture& survey,
                const profile::Profile& profile, const json& figures) {
  const json air = figures.value("air", json());
  const std::optional<double> altitude = altitude_deg(capture, profile);
  return {{"sharpness_middle", sharpness_json(survey, 0.5)},
          {"sharpness_best_tenth", sharpness_json(survey, 0.9)},
          {"d_over_r0", air.is_object() ? air.value("d_over_r0", json()) : json()},
          {"altitude_deg", altitude ? json(*altitude) : json()}};
}

}  // namespace lull::desk
