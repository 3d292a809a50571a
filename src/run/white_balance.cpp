#include "run/white_balance.h"

#include <fmt/format.h>

#include <charconv>
#include <optional>

#include "core/choices.h"

namespace lull::run {

namespace {

constexpr double kLeastFactor = 0.05;
constexpr double kMostFactor = 20;

std::optional<finish::WhiteBalance> parse_factors(const std::string& text) {
  finish::WhiteBalance factors{};
  const char* at = text.data();
  const char* end = at + text.size();
  for (std::size_t c = 0; c < factors.size(); ++c) {
    if (c > 0 && (at == end || *at++ != ',')) return std::nullopt;
    const auto [stop, error] = std::from_chars(at, end, factors[c]);
    if (error != std::errc() || !(factors[c] >= kLeastFactor && factors[c] <= kMostFactor))
      return std::nullopt;
    at = stop;
  }
  if (at != end) return std::nullopt;
  return factors;
}

}  // namespace

WhiteBalanceChoice parse_white_balance(const std::string& text) {
  if (text == "none") return WhiteBalanceRule::none;
  if (text == "grey") return WhiteBalanceRule::grey;
  if (const auto factors = parse_factors(text)) return *factors;
  throw invalid_value("--white-balance", text,
                      fmt::format("none, grey, or factors from {} to {} for red, green and blue, "
                                  "such as 1.4,1,1.8",
                                  kLeastFactor, kMostFactor));
}

std::string print_white_balance(const WhiteBalanceChoice& choice) {
  if (const auto* factors = std::get_if<finish::WhiteBalance>(&choice))
    return fmt::format("{}", fmt::join(*factors, ","));
  return std::get<WhiteBalanceRule>(choice) == WhiteBalanceRule::grey ? "grey" : "none";
}

finish::WhiteBalance factors_for(const WhiteBalanceChoice& choice,
                                 const std::array<PlaneView, 3>& picture) {
  if (const auto* factors = std::get_if<finish::WhiteBalance>(&choice)) return *factors;
  return std::get<WhiteBalanceRule>(choice) == WhiteBalanceRule::grey
             ? finish::gray_world(picture)
             : finish::WhiteBalance{1, 1, 1};
}

}  // namespace lull::run
