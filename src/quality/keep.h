#pragma once

#include <cstdint>
#include <string>
#include <variant>

namespace lull::quality {

/// Which part of the frames goes into the stack: decided from the data, a fraction, or a count.
struct KeepAuto {
  friend bool operator==(KeepAuto, KeepAuto) = default;
};

struct KeepFraction {
  double fraction = 1;  ///< (0, 1]
  friend bool operator==(KeepFraction, KeepFraction) = default;
};

struct KeepCount {
  std::int64_t frames = 1;  ///< >= 1
  friend bool operator==(KeepCount, KeepCount) = default;
};

using Keep = std::variant<KeepAuto, KeepFraction, KeepCount>;

/// "auto", "15%", "0.15" or "300". @throws UsageError with what is possible.
[[nodiscard]] Keep parse_keep(const std::string& text);

/// The way parse_keep reads it back.
[[nodiscard]] std::string to_string(const Keep& keep);

/// Number of frames of a fraction or count out of `usable`; at least 1, at most `usable`.
[[nodiscard]] std::int64_t kept_frames(const Keep& keep, std::int64_t usable);

}  // namespace lull::quality
