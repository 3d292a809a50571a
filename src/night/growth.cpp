#include "night/growth.h"

namespace lull::night {

void Growth::look(const std::vector<capture::FoundCapture>& captures, Clock::time_point now,
                  std::int64_t now_s) {
  std::map<std::string, Seen> seen;
  for (const capture::FoundCapture& found : captures) {
    Seen one = {found.bytes, found.modified_s, found.pictures, now, false};
    const auto earlier = seen_.find(found.path);
    const bool same = earlier != seen_.end() && earlier->second.bytes == one.bytes &&
                      earlier->second.modified_s == one.modified_s &&
                      earlier->second.pictures == one.pictures;
    if (same) one = earlier->second;
    const bool is_old = one.modified_s <= now_s && now_s - one.modified_s >= kOld_s;
    one.is_still = is_old || now - one.since >= kStill;
    seen[found.path] = one;
  }
  seen_ = std::move(seen);
}

bool Growth::may_grow(const std::string& path) const {
  const auto found = seen_.find(path);
  return found != seen_.end() && !found->second.is_still;
}

}  // namespace lull::night
