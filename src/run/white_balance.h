#pragma once

#include <string>
#include <variant>

#include "finish/white_balance.h"

namespace lull::run {

enum class WhiteBalanceRule { none, grey };

/// What --white-balance asks for: a rule, or factors.
using WhiteBalanceChoice = std::variant<WhiteBalanceRule, finish::WhiteBalance>;

/// "none", "grey" or three factors of red, green and blue such as "1.4,1,1.8".
/// @throws UsageError
[[nodiscard]] WhiteBalanceChoice parse_white_balance(const std::string& text);

/// The way parse_white_balance() reads it back.
[[nodiscard]] std::string print_white_balance(const WhiteBalanceChoice& choice);

/// Factors for a picture of three colours. @param picture  linear.
[[nodiscard]] finish::WhiteBalance factors_for(const WhiteBalanceChoice& choice,
                                               const std::array<PlaneView, 3>& picture);

}  // namespace lull::run
