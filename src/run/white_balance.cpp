#include "run/white_balance.h"

#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "core/choices.h"

namespace lull::run {

namespace {

constexpr double kLeastFactor = 0.05;
constexpr double kMostFactor = 20;

std::optional<finish::WhiteBalance> parse_factors(const std::string& text) {
  const auto factors = numbers_in<3>(text);
  const auto is_sane = [](double factor) {
    return factor >= kLeastFactor && factor <= kMostFactor;
  };
  if (!factors || !std::all_of(factors->begin(), factors->end(), is_sane)) return std::nullopt;
  return factors;
}

const Words<WhiteBalanceRule>& rules() {
  static const Words<WhiteBalanceRule> words = {{WhiteBalanceRule::automatic, "auto"},
                                                {WhiteBalanceRule::none, "none"},
                                                {WhiteBalanceRule::grey, "grey"},
                                                {WhiteBalanceRule::sunlight, "sunlight"}};
  return words;
}

}  // namespace

WhiteBalanceChoice parse_white_balance(const std::string& text) {
  for (const auto& [rule, word] : rules()) {
    if (text == word) return rule;
  }
  if (const auto factors = parse_factors(text)) return *factors;
  throw invalid_value("--white-balance", text,
                      fmt::format("auto, none, grey, sunlight, or factors from {} to {} for red, "
                                  "green and blue, such as 1.4,1,1.8",
                                  kLeastFactor, kMostFactor));
}

std::string print_white_balance(const WhiteBalanceChoice& choice) {
  if (const auto* factors = std::get_if<finish::WhiteBalance>(&choice))
    return fmt::format("{}", fmt::join(*factors, ","));
  return word_of_value(std::get<WhiteBalanceRule>(choice), rules());
}

WhiteBalanceChoice settled(const WhiteBalanceChoice& choice, Object object) {
  if (choice != WhiteBalanceChoice(WhiteBalanceRule::automatic)) return choice;
  return published_colour(object) ? WhiteBalanceRule::sunlight : WhiteBalanceRule::none;
}

void check_white_balance(const WhiteBalanceChoice& choice, Object object) {
  if (choice != WhiteBalanceChoice(WhiteBalanceRule::sunlight) || published_colour(object)) return;
  throw UsageError(
      "--white-balance sunlight: the object's published colour is needed; add --object venus, "
      "mars, "
      "jupiter or saturn, or use grey or factors");
}

finish::WhiteBalance factors_for(const WhiteBalanceChoice& choice, Object object,
                                 const std::array<PlaneView, 3>& picture) {
  if (const auto* factors = std::get_if<finish::WhiteBalance>(&choice)) return *factors;
  const auto rule = std::get<WhiteBalanceRule>(settled(choice, object));
  if (rule == WhiteBalanceRule::grey) return finish::gray_world(picture);
  const auto colour = published_colour(object);
  if (rule == WhiteBalanceRule::sunlight && colour) return finish::balance_to(picture, *colour);
  return {1, 1, 1};
}

}  // namespace lull::run
