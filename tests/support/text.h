#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace lull::test {

[[nodiscard]] inline bool contains(std::string_view text, std::string_view part) {
  return text.find(part) != std::string_view::npos;
}

/// The text with a space for each break of a line and what it is indented by.
[[nodiscard]] inline std::string on_one_line(std::string text) {
  for (auto end = text.find('\n'); end != std::string::npos; end = text.find('\n')) {
    const auto next = text.find_first_not_of(" \n", end);
    text.replace(end, (next == std::string::npos ? text.size() : next) - end, " ");
  }
  return text;
}

/// Whether one of the notes contains the words.
[[nodiscard]] inline bool has_note(const std::vector<std::string>& notes, std::string_view words) {
  for (const std::string& note : notes) {
    if (contains(note, words)) return true;
  }
  return false;
}

/// The message of the Error that the function throws; empty if it throws nothing.
template <class Error, class Function>
[[nodiscard]] std::string message_of(const Function& function) {
  try {
    function();
  } catch (const Error& error) {
    return error.what();
  }
  return {};
}

}  // namespace lull::test
