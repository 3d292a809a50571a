#include "files/name_text.h"

#include <fmt/format.h>
#include <utf8.h>

#include <charconv>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string_view>

namespace lull::files {

namespace {

constexpr std::string_view kScheme = "file:";

std::string percent(char byte) {
  return fmt::format("%{:02X}", static_cast<unsigned>(static_cast<unsigned char>(byte)));
}

/// Unreserved characters of RFC 3986, section 2.3, and the separator of folders.
bool stays(char c) {
  const bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
  const bool digit = c >= '0' && c <= '9';
  return letter || digit || std::string_view("-._~/").find(c) != std::string_view::npos;
}

nlohmann::json as_utf8(const nlohmann::json& json) {
  if (json.is_string()) return utf8_text(json.get_ref<const std::string&>());
  if (json.is_array()) {
    nlohmann::json out = nlohmann::json::array();
    for (const auto& value : json) out.push_back(as_utf8(value));
    return out;
  }
  if (!json.is_object()) return json;
  nlohmann::json out = nlohmann::json::object();
  for (const auto& [key, value] : json.items()) out[utf8_text(key)] = as_utf8(value);
  return out;
}

}  // namespace

std::string name_text(const std::string& name) {
  if (utf8::is_valid(name.begin(), name.end()) && !name.starts_with(kScheme)) return name;
  std::string out(kScheme);
  for (const char c : name) out += stays(c) ? std::string(1, c) : percent(c);
  return out;
}

std::string name_of_text(const std::string& text) {
  if (!text.starts_with(kScheme)) return text;
  std::string name;
  for (std::size_t i = kScheme.size(); i < text.size(); ++i) {
    constexpr std::size_t kDigits = 2;
    unsigned byte = 0;
    const char* digits = text.data() + i + 1;
    const bool encoded =
        text[i] == '%' && i + kDigits < text.size() &&
        std::from_chars(digits, digits + kDigits, byte, 16).ptr == digits + kDigits;
    name += encoded ? static_cast<char>(byte) : text[i];
    if (encoded) i += kDigits;
  }
  return name;
}

std::string file_name_text(const std::string& path) {
  return name_text(std::filesystem::path(path).filename().string());
}

std::vector<std::string> name_texts(const std::vector<std::string>& names) {
  std::vector<std::string> out;
  out.reserve(names.size());
  for (const std::string& name : names) out.push_back(name_text(name));
  return out;
}

std::string utf8_text(const std::string& text) {
  std::string out;
  auto at = text.begin();
  while (true) {
    const auto invalid = utf8::find_invalid(at, text.end());
    out.append(at, invalid);
    if (invalid == text.end()) return out;
    out += percent(*invalid);
    at = invalid + 1;
  }
}

std::string json_text(const nlohmann::json& json, int indent) {
  try {
    return json.dump(indent);
  } catch (const nlohmann::json::type_error&) {  // rare: then only, each text is looked at
    return as_utf8(json).dump(indent);
  }
}

}  // namespace lull::files
