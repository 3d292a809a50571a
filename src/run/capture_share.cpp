#include "run/capture_share.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "core/words.h"
#include "files/name_text.h"

namespace lull::run {

std::vector<CaptureShare> capture_shares(const std::vector<std::string>& captures,
                                         const std::vector<FrameIndex>& beginnings,
                                         const std::vector<quality::FrameRecord>& records,
                                         const std::vector<FrameIndex>& kept) {
  if (captures.size() < 2 || beginnings.empty()) return {};
  std::vector<CaptureShare> out(captures.size());
  for (std::size_t i = 0; i < captures.size(); ++i) out[i].capture = captures[i];
  const auto of = [&](FrameIndex index) -> CaptureShare& {
    const auto next = std::upper_bound(beginnings.begin(), beginnings.end(), index);
    return out[static_cast<std::size_t>(next - beginnings.begin()) - 1];
  };
  for (const quality::FrameRecord& record : records) {
    CaptureShare& share = of(record.index);
    ++share.frames;
    share.usable += record.usable() ? 1U : 0U;
  }
  for (const FrameIndex index : kept) ++of(index).kept;
  for (CaptureShare& share : out) {
    if (!kept.empty())
      share.of_stack = static_cast<double>(share.kept) / static_cast<double>(kept.size());
  }
  return out;
}

nlohmann::json to_json(const std::vector<CaptureShare>& shares) {
  nlohmann::json out = nlohmann::json::array();
  for (const CaptureShare& one : shares) {
    out.push_back({{"capture", files::name_text(one.capture)},
                   {"frames", one.frames},
                   {"usable", one.usable},
                   {"kept", one.kept},
                   {"stack_share", one.of_stack}});
  }
  return out;
}

std::string share_text(const CaptureShare& share) {
  return fmt::format("{:.0f}% of the stack, of {}, {} in the capture", 100 * share.of_stack,
                     counted(static_cast<std::int64_t>(share.usable), "usable frame"),
                     share.frames);
}

}  // namespace lull::run
