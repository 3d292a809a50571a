#include "quality/keep.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/error.h"

namespace lull::quality {

namespace {

[[noreturn]] void refuse(const std::string& text) {
  throw UsageError(fmt::format(
      "--keep {}: use auto, a part such as 15% or 0.15, or a number of frames such as 300", text));
}

}  // namespace

Keep parse_keep(const std::string& text) {
  if (text == "auto") return KeepAuto{};
  std::string digits = text;
  const bool percent = !digits.empty() && digits.back() == '%';
  if (percent) digits.pop_back();
  double value = 0;
  const char* end = digits.data() + digits.size();
  const auto [stop, error] = std::from_chars(digits.data(), end, value);
  if (error != std::errc() || stop != end || !std::isfinite(value) || value <= 0) refuse(text);
  if (percent) {
    if (value > 100) refuse(text);
    return KeepFraction{value / 100};
  }
  if (value < 1) return KeepFraction{value};
  if (value != std::floor(value) || value > 1e12) refuse(text);
  return KeepCount{static_cast<std::int64_t>(value)};
}

std::string to_string(const Keep& keep) {
  if (const auto* fraction = std::get_if<KeepFraction>(&keep)) {
    return fmt::format("{}%", fraction->fraction * 100);
  }
  if (const auto* count = std::get_if<KeepCount>(&keep)) return std::to_string(count->frames);
  return "auto";
}

std::int64_t kept_frames(const Keep& keep, std::int64_t usable) {
  std::int64_t frames = usable;
  if (const auto* fraction = std::get_if<KeepFraction>(&keep)) {
    frames =
        static_cast<std::int64_t>(std::llround(fraction->fraction * static_cast<double>(usable)));
  } else if (const auto* count = std::get_if<KeepCount>(&keep)) {
    frames = count->frames;
  }
  return std::clamp<std::int64_t>(frames, 1, std::max<std::int64_t>(usable, 1));
}

}  // namespace lull::quality
