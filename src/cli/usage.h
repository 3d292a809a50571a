#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

namespace lull::cli {

/// What is wrong with a command line, in words for someone who mistyped it.
/// @param app    after parse() threw `error`.
/// @param words  the command line without the program's name.
[[nodiscard]] std::string explain(const CLI::App& app, const CLI::ParseError& error,
                                  const std::vector<std::string>& words);

}  // namespace lull::cli
