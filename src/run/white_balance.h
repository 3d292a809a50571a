#pragma once

#include <string>
#include <variant>

#include "finish/white_balance.h"
#include "run/object.h"

namespace lull::run {

enum class WhiteBalanceRule {
  automatic,  ///< sunlight where the object's colour is published, else none
  none,
  grey,
  sunlight  ///< the object's mean colour becomes its published one
};

/// What --white-balance asks for: a rule, or factors.
using WhiteBalanceChoice = std::variant<WhiteBalanceRule, finish::WhiteBalance>;

/// "auto", "none", "grey", "sunlight" or three factors of red, green and blue such as "1.4,1,1.8".
/// @throws UsageError
[[nodiscard]] WhiteBalanceChoice parse_white_balance(const std::string& text);

/// The way parse_white_balance() reads it back.
[[nodiscard]] std::string print_white_balance(const WhiteBalanceChoice& choice);

/// What `automatic` comes to for this object; other choices as they are.
[[nodiscard]] WhiteBalanceChoice settled(const WhiteBalanceChoice& choice, Object object);

/// @throws UsageError when sunlight is asked for and the object has no published colour.
void check_white_balance(const WhiteBalanceChoice& choice, Object object);

/// Factors for a picture of three colours. @param picture  linear.
[[nodiscard]] finish::WhiteBalance factors_for(const WhiteBalanceChoice& choice, Object object,
                                               const std::array<PlaneView, 3>& picture);

}  // namespace lull::run
