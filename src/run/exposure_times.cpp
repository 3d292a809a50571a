#include "run/exposure_times.h"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace lull::run {

std::optional<ExposureTimes> exposure_times(const capture::CaptureInfo& info,
                                            const survey::Survey& survey,
                                            const std::vector<FrameIndex>& kept) {
  if (!info.times.begun) return std::nullopt;
  ExposureTimes times{*info.times.begun, std::nullopt, std::nullopt, info.times.begun_source};
  if (!info.times.known || kept.empty()) return times;
  std::vector<FrameIndex> sorted = kept;
  std::sort(sorted.begin(), sorted.end());
  std::vector<double> seconds;
  for (const auto& record : survey.records) {
    if (std::binary_search(sorted.begin(), sorted.end(), record.index))
      seconds.push_back(record.time_s);
  }
  double sum = 0;
  for (const double s : seconds) sum += s;
  const auto [first, last] = std::minmax_element(seconds.begin(), seconds.end());
  times.begin = after(*info.times.begun, *first);
  times.mean = after(*info.times.begun, sum / static_cast<double>(seconds.size()));
  times.end = after(*info.times.begun, *last);
  return times;
}

std::vector<files::Card> time_cards(const ExposureTimes& times) {
  const auto text = [](Utc moment) { return iso8601(moment); };
  std::vector<files::Card> cards = {
      {"TIMESYS", std::string("UTC"), "time scale of the dates"},
      {"DATE-OBS", text(times.begin), times.end ? "first kept frame" : "begin of the capture"}};
  if (times.mean) cards.push_back({"DATE-AVG", text(*times.mean), "mean of the kept frames"});
  if (times.end) cards.push_back({"DATE-END", text(*times.end), "last kept frame"});
  cards.push_back({"DATESRC", times.source, "what tells the dates"});
  return cards;
}

nlohmann::json to_json(const ExposureTimes& times) {
  nlohmann::json out = {{"begin", iso8601(times.begin) + "Z"}, {"source", times.source}};
  if (times.mean) out["mean"] = iso8601(*times.mean) + "Z";
  if (times.end) out["end"] = iso8601(*times.end) + "Z";
  return out;
}

std::string utc_text(const capture::CaptureInfo& info, const quality::FrameRecord& record) {
  const bool decoded = record.reject != Reject::damaged || record.time_s > 0;
  const auto moment = decoded ? info.times.utc_at(record.time_s) : std::nullopt;
  return moment ? iso8601(*moment) + "Z" : std::string();
}

}  // namespace lull::run
