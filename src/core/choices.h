#pragma once

#include <string>
#include <vector>

#include "core/error.h"

namespace lull {

/// " Did you mean stack?" for the word among `known` that takes the fewest typing errors
/// (Levenshtein distance) to `word`, if these are at most 3 and not the whole word; else empty.
[[nodiscard]] std::string did_you_mean(const std::string& word,
                                       const std::vector<std::string>& known);

/// "a, b or c".
[[nodiscard]] std::string listed(const std::vector<std::string>& words);

/// "--keep: invalid value 'x'; valid: auto, 15%, 300".
/// @param valid  what is possible, in words.
[[nodiscard]] UsageError invalid_value(const std::string& option, const std::string& value,
                                       const std::string& valid);

/// The same for a value that is not among the choices of an option, with the nearest of them.
[[nodiscard]] UsageError invalid_choice(const std::string& option, const std::string& value,
                                        const std::vector<std::string>& known);

}  // namespace lull
