#include "capture/capture_times.h"

namespace lull::capture {

std::optional<Utc> CaptureTimes::utc_at(double time_s) const {
  if (!begun || !known) return std::nullopt;
  return after(*begun, time_s);
}

}  // namespace lull::capture
