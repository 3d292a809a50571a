#pragma once

#include <optional>
#include <string>

#include "core/utc.h"

namespace lull::sky {

/// Civil time at a place: by the system's tz database, or at a fixed distance from UTC.
class Zone {
 public:
  /// @param name  "Europe/Lisbon", "+01:00"; empty: UTC. @throws UsageError for a name that is not
  /// in the database.
  explicit Zone(const std::string& name);

  [[nodiscard]] const std::string& name() const { return name_; }

  [[nodiscard]] bool is_utc() const { return name_.empty(); }

  /// "2026-11-30 21:04", rounded to the minute.
  [[nodiscard]] std::string minute_of(Utc moment) const;

  /// "21:04".
  [[nodiscard]] std::string clock_of(Utc moment) const;

  /// Local time less UTC then, in seconds.
  [[nodiscard]] double offset_s(Utc moment) const;

 private:
  std::string name_;
  std::optional<int> fixed_min_{};
};

}  // namespace lull::sky
