#include "run/verdict.h"

#include <fmt/format.h>

#include <cctype>
#include <set>
#include <string_view>
#include <utility>

#include "core/error.h"
#include "health/motion.h"

namespace lull::run {

namespace {

std::string capitalised(std::string text) {
  text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  return text;
}

}  // namespace

std::string left_out(const survey::Survey& survey) {
  constexpr std::pair<Reject, std::string_view> kReasons[] = {
      {Reject::damaged, "damaged"},
      {Reject::black, "black"},
      {Reject::saturated, "saturated"},
      {Reject::doubled, "the same as the one before"},
      {Reject::lost_target, "without the object"},
      {Reject::weak_peak, "without structure that can be followed"}};
  std::string text;
  for (const auto& [reason, words] : kReasons) {
    const auto count = survey.count(reason);
    if (count > 0) text += fmt::format("{}{} {}", text.empty() ? "" : ", ", count, words);
  }
  return text;
}

void require_usable(const survey::Survey& survey, const std::string& capture, std::int64_t needed,
                    const std::string& purpose) {
  if (survey.usable() >= needed) return;
  const std::string reasons = left_out(survey);
  throw NothingUsable(fmt::format(
      "{}: {} of {} frames can be used, and {} needs at least {}.{} Check the focus, the exposure "
      "and that the object is in the frame, and record more frames.",
      capture, survey.usable(), survey.records.size(), purpose, needed,
      reasons.empty() ? std::string() : fmt::format(" Left out: {}.", reasons)));
}

std::string still_object_warning(const survey::Survey& survey, health::Samples samples) {
  constexpr std::int64_t kFewestFrames = 8;
  if (survey.usable() < kFewestFrames) return {};
  const double step = health::tracked_step_px(survey.records);
  const bool disc = survey.target.kind == quality::TargetKind::disc;
  if (samples == health::Samples::calibrated || disc || !(step < health::kStillPx)) return {};
  return fmt::format(
      "tracking moves by only {:.2f} px a frame, less than the air moves any object: dust or other "
      "marks on the sensor were probably followed and stacked, and the figures describe them. Give "
      "a flat with --flat",
      step);
}

std::string saturation_warning(const survey::Survey& survey, const std::vector<FrameIndex>& kept) {
  constexpr double kWorthAWord = 0.01;
  const std::set<FrameIndex> wanted(kept.begin(), kept.end());
  double sum = 0;
  for (const quality::FrameRecord& record : survey.records) {
    if (wanted.contains(record.index)) sum += record.saturated_share;
  }
  const double share = wanted.empty() ? 0 : sum / static_cast<double>(wanted.size());
  if (share < kWorthAWord) return {};
  return fmt::format(
      "{:.0f}% of the area of the kept frames reaches full scale: detail is lost there, and edges "
      "beside it may ring. Expose less or lower the gain next time",
      100 * share);
}

std::string field_turn_warning(const survey::Survey& survey) {
  if (!survey::is_far(survey.field_turn)) return {};
  return fmt::format("{}. {}", survey::field_turn_text(survey.field_turn),
                     capitalised(survey::advice_on(
                         survey.field_turn, static_cast<std::int64_t>(survey.records.size()))));
}

}  // namespace lull::run
