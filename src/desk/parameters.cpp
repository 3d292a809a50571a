#include "desk/parameters.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "core/choices.h"
#include "desk/problem.h"
#include "run/option_kinds.h"

namespace lull::desk {

namespace {

constexpr std::int64_t kFarthestPx = 1 << 20;

const std::string* value_of(const Parameters& parameters, const std::string& name) {
  const auto found = parameters.find(name);
  return found == parameters.end() ? nullptr : &found->second;
}

Problem invalid(const std::string& name, const std::string& text, const std::string& valid) {
  return {400, fmt::format("{}: invalid value '{}'", name, text), "give " + valid};
}

}  // namespace

std::int64_t whole_number_of(const std::string& name, const std::string& text, std::int64_t low,
                             std::int64_t high) {
  std::int64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || value < low || value > high)
    throw invalid(name, text, fmt::format("a whole number from {} to {}", low, high));
  return value;
}

std::optional<std::int64_t> whole_number(const Parameters& parameters, const std::string& name,
                                         std::int64_t low, std::int64_t high) {
  const std::string* text = value_of(parameters, name);
  if (text == nullptr) return std::nullopt;
  return whole_number_of(name, *text, low, high);
}

std::optional<double> number(const Parameters& parameters, const std::string& name) {
  const std::string* text = value_of(parameters, name);
  if (text == nullptr) return std::nullopt;
  const auto value = run::number_in(*text);
  if (!value) throw invalid(name, *text, "a number");
  return value;
}

std::optional<Box> area(const Parameters& parameters, const std::string& name, Size size) {
  const std::string* text = value_of(parameters, name);
  if (text == nullptr) return std::nullopt;
  std::array<std::int64_t, 4> numbers{};
  std::size_t at = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    const std::size_t end = i < 3 ? text->find(',', at) : text->size();
    if (end == std::string::npos || at > text->size()) throw invalid(name, *text, "X,Y,W,H in px");
    numbers[i] = whole_number_of(name, text->substr(at, end - at), i < 2 ? 0 : 1, kFarthestPx);
    at = end + 1;
  }
  const Box box = {static_cast<int>(numbers[0]), static_cast<int>(numbers[1]),
                   static_cast<int>(numbers[0] + numbers[2]),
                   static_cast<int>(numbers[1] + numbers[3])};
  const Box within = box.intersection({0, 0, size.width_px, size.height_px});
  if (within.empty())
    throw invalid(name, *text,
                  fmt::format("an area within {} x {} px", size.width_px, size.height_px));
  return within;
}

std::string word(const Parameters& parameters, const std::string& name,
                 const std::vector<std::string>& words) {
  const std::string* text = value_of(parameters, name);
  if (text == nullptr) return words.front();
  if (std::find(words.begin(), words.end(), *text) == words.end())
    throw invalid(name, *text, listed(words));
  return *text;
}

}  // namespace lull::desk
