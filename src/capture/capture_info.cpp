#include "capture/capture_info.h"

namespace lull::capture {

std::optional<Utc> utc_of(const CaptureInfo& info, double time_s) {
  if (!info.begun || !info.has_times) return std::nullopt;
  return after(*info.begun, time_s);
}

}  // namespace lull::capture
