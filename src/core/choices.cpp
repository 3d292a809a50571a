#include "core/choices.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace lull {

namespace {

constexpr std::size_t kMostErrors = 3;

std::size_t distance(const std::string& a, const std::string& b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t substituted = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({substituted, row[j] + 1, row[j - 1] + 1});
    }
  }
  return row[b.size()];
}

}  // namespace

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
  const auto nearest = std::min_element(
      known.begin(), known.end(),
      [&](const auto& a, const auto& b) { return distance(word, a) < distance(word, b); });
  if (nearest == known.end()) return {};
  const std::size_t errors = distance(word, *nearest);
  if (errors > kMostErrors || errors >= word.size()) return {};
  return fmt::format(" Did you mean {}?", *nearest);
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 < words.size() ? ", " : " or ";
    text += words[i];
  }
  return text;
}

UsageError invalid_value(const std::string& option, const std::string& value,
                         const std::string& valid) {
  return UsageError(fmt::format("{}: invalid value '{}'; valid: {}", option, value, valid));
}

UsageError invalid_choice(const std::string& option, const std::string& value,
                          const std::vector<std::string>& known) {
  return invalid_value(option, value,
                       fmt::format("{}.{}", fmt::join(known, ", "), did_you_mean(value, known)));
}

}  // namespace lull
