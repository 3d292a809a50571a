#include "desk/surveys.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "health/shape.h"

namespace lull::desk {

namespace {

using nlohmann::json;

constexpr std::size_t kMostBars = 256;

std::size_t frames_of(const SurveyOfCapture& survey) { return survey.rank.survey.records.size(); }

json histogram_json(const health::Exposure& exposure) {
  json light = json::array();
  json counts = json::array();
  for (const auto& levels : exposure.counts) {
    const std::size_t group = std::max<std::size_t>(levels.size() / kMostBars, 1);
    json bars = json::array();
    for (std::size_t from = 0; from < levels.size(); from += group) {
      std::int64_t sum = 0;
      for (std::size_t level = from; level < std::min(from + group, levels.size()); ++level)
        sum += levels[level];
      bars.push_back(sum);
      if (counts.empty()) {
        const auto last = static_cast<double>(std::max<std::size_t>(levels.size(), 2) - 1);
        light.push_back(static_cast<double>(from) / last);
      }
    }
    counts.push_back(std::move(bars));
  }
  return {{"light", light}, {"counts", counts}};
}

}  // namespace

HealthInWords health_of(const run::InspectOutcome& inspect) {
  HealthInWords out;
  const std::size_t found = inspect.findings.size();
  out.word = found == 0 ? "good" : found <= 2 ? "fair" : "poor";
  for (const health::Finding& finding : inspect.findings) out.advice.push_back(finding.next);
  return out;
}

json to_json(const HealthInWords& health) {
  return {{"word", health.word}, {"advice", health.advice}};
}

json to_json(const SurveyOfCapture& survey, const std::string& id) {
  json index = json::array();
  json time = json::array();
  json sharpness = json::array();
  json brightness = json::array();
  json shift_x = json::array();
  json shift_y = json::array();
  json left_out = json::array();
  for (const quality::FrameRecord& r : survey.rank.survey.records) {
    const bool usable = r.usable();
    index.push_back(r.index);
    time.push_back(r.time_s);
    sharpness.push_back(usable ? json(r.sharpness) : json());
    brightness.push_back(usable ? json(r.brightness) : json());
    shift_x.push_back(usable ? json(r.offset.shift().x_px) : json());
    shift_y.push_back(usable ? json(r.offset.shift().y_px) : json());
    left_out.push_back(usable ? json() : json(reject_name(*r.reject)));
  }
  json order = json::array();
  for (const std::size_t i : survey.rank.order)
    order.push_back(survey.rank.survey.records[i].index);
  json out = {{"capture", id},
              {"frames", frames_of(survey)},
              {"index", std::move(index)},
              {"time_s", std::move(time)},
              {"sharpness", std::move(sharpness)},
              {"brightness", std::move(brightness)},
              {"shift_x_px", std::move(shift_x)},
              {"shift_y_px", std::move(shift_y)},
              {"left_out", std::move(left_out)},
              {"order", std::move(order)},
              {"measure", survey.rank.survey.ranked_by()},
              {"target", quality::target_name(survey.rank.survey.target.kind)},
              {"notes", survey.rank.notes},
              {"health", nullptr},
              {"histogram", nullptr},
              {"inspect", nullptr}};
  if (survey.inspect) {
    out["health"] = to_json(health_of(*survey.inspect));
    out["histogram"] = histogram_json(survey.inspect->health.exposure);
    out["inspect"] = run::to_json(*survey.inspect);
  }
  return out;
}

void Surveys::put(std::shared_ptr<const SurveyOfCapture> survey) {
  const std::scoped_lock lock(guard_);
  std::erase_if(surveys_, [&](const auto& one) { return one->found.id == survey->found.id; });
  surveys_.push_front(std::move(survey));
  std::size_t frames = 0;
  auto last = surveys_.begin();
  for (; last != surveys_.end(); ++last) {
    frames += frames_of(**last);
    if (frames > kMostFrames && last != surveys_.begin()) break;
  }
  surveys_.erase(last, surveys_.end());
}

std::shared_ptr<const SurveyOfCapture> Surveys::find(const capture::FoundCapture& capture) const {
  const std::scoped_lock lock(guard_);
  for (const auto& survey : surveys_) {
    if (survey->found == capture) return survey;
  }
  return nullptr;
}

}  // namespace lull::desk
