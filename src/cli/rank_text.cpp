#include <fmt/format.h>

#include <algorithm>

#include "cli/texts.h"
#include "core/statistics.h"

namespace lull::cli {

std::string rank_text(const run::RankOutcome& outcome) {
  const survey::Survey& survey = outcome.survey;
  const capture::CaptureInfo& info = outcome.info;
  const std::vector<std::size_t>& order = outcome.order;
  std::string text =
      fmt::format("{}: {} frames of {} x {} px, {} usable\n", info.path, survey.records.size(),
                  info.size.width_px, info.size.height_px, order.size());
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    const auto count = survey.count(reason);
    if (count > 0) text += fmt::format("  left out, {}: {}\n", reject_name(reason), count);
  }
  text += fmt::format("target: {}; sharpness measure: {}\n",
                      quality::target_name(survey.target.kind), survey.ranked_by());
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (order.empty()) return text;
  std::vector<double> sharpness;
  sharpness.reserve(order.size());
  for (const std::size_t frame : order) sharpness.push_back(survey.records[frame].sharpness);
  const double median = upper_median(std::move(sharpness));
  text += fmt::format("sharpness, median frame = 1:");
  for (const double share : {0.0, 0.1, 0.25, 0.75, 1.0}) {
    const auto at = static_cast<std::size_t>(share * static_cast<double>(order.size() - 1));
    const double value = median > 0 ? survey.records[order[at]].sharpness / median : 0;
    text += share == 0   ? fmt::format(" best {:.2f};", value)
            : share == 1 ? fmt::format("; worst {:.2f}", value)
                         : fmt::format("{} {:.2f} in {:.0f}%", share == 0.1 ? " at least" : ",",
                                       value, 100 * share);
  }
  text += fmt::format("\nbest frames:");
  for (std::size_t i = 0; i < std::min<std::size_t>(order.size(), 10); ++i) {
    text += fmt::format(" {}", survey.records[order[i]].index);
  }
  text += fmt::format("\n");
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  return text;
}

}  // namespace lull::cli
