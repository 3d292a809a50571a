#include "capture/sequence_names.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

namespace lull::capture {

namespace {

constexpr std::size_t kMostDigits = 18;  // of a number that 64 bits hold

bool is_digit(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; }

std::string percents_doubled(const std::string& text) {
  std::string out;
  for (const char c : text) out.append(c == '%' ? 2 : 1, c);
  return out;
}

}  // namespace

std::optional<NumberedName> NumberedName::parse(const std::string& name) {
  const std::size_t dot = name.rfind('.');
  std::size_t end = dot == std::string::npos ? name.size() : dot;
  while (end > 0 && !is_digit(name[end - 1])) --end;
  std::size_t begin = end;
  while (begin > 0 && is_digit(name[begin - 1])) --begin;
  if (begin == end || end - begin > kMostDigits) return std::nullopt;
  return NumberedName{name.substr(0, begin), name.substr(begin, end - begin), name.substr(end)};
}

void SequenceNumbers::add(const std::string& digits) {
  const auto width = static_cast<int>(digits.size());
  narrowest_ = widest_ == 0 ? width : std::min(narrowest_, width);
  widest_ = std::max(widest_, width);
  is_filled_ = is_filled_ || (width > 1 && digits.front() == '0');
}

// Numbers of one width may or may not be filled up with zeros: both read the same.
std::string SequenceNumbers::pattern(const std::string& before, const std::string& after) const {
  const bool filled = is_filled_ || narrowest_ == widest_;
  const std::string number = filled ? fmt::format("%0{}d", narrowest_) : "%d";
  return percents_doubled(before) + number + percents_doubled(after);
}

}  // namespace lull::capture
