#pragma once

#include <string>
#include <vector>

namespace lull::night {

/// ASCII letters made small; all other bytes stay.
[[nodiscard]] std::string lower(std::string text);

/// The words of a name: runs of letters, digits and bytes that are not ASCII. A change between
/// letters and digits does not part them.
[[nodiscard]] std::vector<std::string> words_of(const std::string& name);

/// The word of --object that a word means, abbreviations too; empty: none.
[[nodiscard]] std::string target_word(const std::string& word);

}  // namespace lull::night
