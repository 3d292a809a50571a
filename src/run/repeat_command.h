#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "run/option.h"

namespace lull::run {

/// A word as a POSIX shell reads it back to the same bytes (IEEE Std 1003.1, section 2.2.2).
[[nodiscard]] std::string shell_word(const std::string& text);

/// An option of a command with its values, of which a switch has none.
struct GivenOption {
  OptionFacts facts;
  std::vector<std::string> values;
};

/// "lull stack moon.ser -o moon.tif --keep 15%": what is given by its place, the output, then the
/// others by their names.
[[nodiscard]] std::string command_of(const std::string& verb, std::vector<GivenOption> options);

/// The command of a run: only options that differ from the defaults, all of them.
template <class Request>
[[nodiscard]] std::string repeat_command(const std::string& verb, const OptionTable<Request>& table,
                                         const Request& request) {
  std::vector<GivenOption> given;
  for (const Option<Request>& option : table) {
    if (!is_given(option, request)) continue;
    const bool valued = !option.facts.is_switch();
    given.push_back(
        {option.facts, valued ? option_texts(option.get(request)) : std::vector<std::string>{}});
  }
  return command_of(verb, std::move(given));
}

}  // namespace lull::run
