#include "run/repeat_command.h"

#include <fmt/format.h>
#include <utf8.h>

#include <algorithm>
#include <cctype>
#include <nlohmann/json.hpp>

#include "run/recipe_options.h"

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

std::string option_name(const std::string& key) {
  std::string name = "--" + key;
  std::replace(name.begin(), name.end(), '_', '-');
  return name;
}

std::string repeat_command(const nlohmann::json& choices, const nlohmann::json& defaults,
                           const std::vector<std::string>& more) {
  std::string text = "lull stack";
  for (std::string capture : texts_of_recipe(choices.at("capture"))) {
    // A name that begins like an option must not be parsed as one.
    if (capture.starts_with('-')) capture.insert(0, "./");
    text += " " + shell_word(capture);
  }
  for (const std::string& word : more) text += " " + shell_word(word);
  for (const auto& [key, value] : choices.items()) {
    if (key == "capture" || (defaults.contains(key) && defaults.at(key) == value)) continue;
    text += " " + option_name(key);
    if (!value.is_boolean()) text += " " + shell_word(texts_of_recipe(value).front());
  }
  return text;
}

}  // namespace lull::run
