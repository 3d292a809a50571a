#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

namespace lull::run {

/// A word as a POSIX shell reads it back to the same bytes (IEEE Std 1003.1, section 2.2.2).
[[nodiscard]] std::string shell_word(const std::string& text);

/// Name of the option that a recipe calls so: white_balance is --white-balance.
[[nodiscard]] std::string option_name(const std::string& key);

/// The command of a run: only options that differ from the defaults.
/// @param choices,defaults as recipes name them, "capture" among them.
/// @param more words that follow, such as {"-o", "moon.tif"}.
[[nodiscard]] std::string repeat_command(const nlohmann::json& choices,
                                         const nlohmann::json& defaults,
                                         const std::vector<std::string>& more);

}  // namespace lull::run
