#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace lull::app {

/// Check for a whole number from `lowest` to `highest`. The message it gives says so.
[[nodiscard]] std::function<std::string(std::string)> whole_number(std::int64_t lowest,
                                                                   std::int64_t highest);

/// Check for a number from `lowest` to `highest`; `unit` is for the message.
[[nodiscard]] std::function<std::string(std::string)> number_within(double lowest, double highest,
                                                                    std::string unit);

/// Check for a file name that is not empty.
[[nodiscard]] std::string file_name(const std::string& text);

/// What is wrong with a command line, in words for someone who mistyped it.
/// @param app    after parse() threw `error`.
/// @param words  the command line without the program's name.
[[nodiscard]] std::string explain(const CLI::App& app, const CLI::ParseError& error,
                                  const std::vector<std::string>& words);

}  // namespace lull::app
