#include "core/choices.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace lull {

namespace {

constexpr std::size_t kMostErrors = 3;
constexpr std::size_t kLettersAnError = 3;  // with more errors it is another word

// Letters left out, added, exchanged with others or with their neighbour (Damerau 1964).
std::size_t distance(const std::string& a, const std::string& b) {
  std::vector<std::vector<std::size_t>> table(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  for (std::size_t i = 0; i <= a.size(); ++i) table[i][0] = i;
  for (std::size_t j = 0; j <= b.size(); ++j) table[0][j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t other = a[i - 1] == b[j - 1] ? 0 : 1;
      table[i][j] =
          std::min({table[i - 1][j - 1] + other, table[i - 1][j] + 1, table[i][j - 1] + 1});
      const bool crossed = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (crossed) table[i][j] = std::min(table[i][j], table[i - 2][j - 2] + 1);
    }
  }
  return table[a.size()][b.size()];
}

}  // namespace

std::string did_you_mean(const std::string& word, const std::vector<std::string>& known) {
  const auto nearest = std::min_element(
      known.begin(), known.end(),
      [&](const auto& a, const auto& b) { return distance(word, a) < distance(word, b); });
  if (nearest == known.end()) return {};
  const std::size_t errors = distance(word, *nearest);
  if (errors > kMostErrors || errors * kLettersAnError > word.size()) return {};
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
