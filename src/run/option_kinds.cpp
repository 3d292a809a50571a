#include "run/option_kinds.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

namespace lull::run {

nlohmann::json names_json(const std::vector<std::string>& names) {
  if (names.size() > 1) return names;
  return names.empty() ? std::string() : names.front();
}

std::optional<double> number_in(const std::string& text) {
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

double number_within(const std::string& option, const std::string& text, const NumberRange& range) {
  const auto value = number_in(text);
  if (value && *value >= range.low && *value <= range.high) return *value;
  throw invalid_value(option, text,
                      fmt::format("a number from {} to {}{}{}", range.low, range.high,
                                  range.unit.empty() ? "" : " ", range.unit));
}

std::int64_t whole_number_within(const std::string& option, const std::string& text,
                                 std::int64_t low, std::int64_t high) {
  std::int64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error == std::errc() && stop == end && value >= low && value <= high) return value;
  throw invalid_value(option, text, fmt::format("a whole number from {} to {}", low, high));
}

std::string file_name(const std::string& option, const std::string& text) {
  if (text.empty()) throw UsageError(option + ": the file name is empty");
  return text;
}

}  // namespace lull::run
