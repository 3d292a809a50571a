#include "run/repeat_command.h"

#include <fmt/format.h>
#include <utf8.h>

#include <algorithm>
#include <cctype>
#include <utility>

namespace lull::run {

namespace {

// POSIX.1-2024, section 2.2.4: dollar-single-quotes, in which \ooo is a byte in octal.
std::string quoted_bytes(const std::string& text) {
  std::string out = "$'";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool stays = byte >= ' ' && byte < 0x7F && c != '\'' && c != '\\';
    out += stays ? std::string(1, c) : fmt::format("\\{:03o}", byte);
  }
  return out + "'";
}

}  // namespace

std::string shell_word(const std::string& text) {
  const bool plain = !text.empty() && std::all_of(text.begin(), text.end(), [](unsigned char c) {
    return std::isalnum(c) != 0 ||
           std::string_view("_-./,:=+%@").find(static_cast<char>(c)) != std::string_view::npos;
  });
  if (plain) return text;
  if (!utf8::is_valid(text.begin(), text.end())) return quoted_bytes(text);
  std::string out = "'";
  for (const char c : text) c == '\'' ? out += "'\\''" : out += c;
  return out + "'";
}

std::string command_of(const std::string& verb, std::vector<GivenOption> options) {
  const auto rank = [](const OptionFacts& facts) {
    return facts.by_place() ? 0 : facts.short_name == "-o" ? 1 : 2;
  };
  std::stable_sort(
      options.begin(), options.end(), [&rank](const GivenOption& a, const GivenOption& b) {
        return std::pair(rank(a.facts), a.facts.name) < std::pair(rank(b.facts), b.facts.name);
      });
  std::string text = "lull " + verb;
  for (const auto& [facts, values] : options) {
    const std::string& name = facts.short_name == "-o" ? facts.short_name : facts.name;
    if (facts.is_switch()) text += " " + name;
    for (const std::string& value : values) {
      // A value that begins like an option must not be parsed as one.
      const bool like_option = value.starts_with('-');
      if (facts.by_place()) {
        text += " " + shell_word(like_option ? "./" + value : value);
      } else if (like_option && name == facts.name) {
        text += " " + name + "=" + shell_word(value);
      } else {
        text += " " + name + " " + shell_word(like_option ? "./" + value : value);
      }
    }
  }
  return text;
}

}  // namespace lull::run
