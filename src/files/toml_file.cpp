#include "files/toml_file.h"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <sstream>

#include "core/error.h"
#include "files/failure.h"

namespace lull::files {

namespace {

constexpr std::size_t kMostBytes = std::size_t{1} << 20U;

template <class Date>
std::string date_text(const Date& date) {
  std::ostringstream out;
  out << date;
  return out.str();
}

void set_number(TomlValue& out, double number, std::string text) {
  out.kind = TomlValue::Kind::number;
  out.number = number;
  out.text = std::move(text);
}

void set_date(TomlValue& out, std::string text) {
  out.kind = TomlValue::Kind::date;
  out.text = std::move(text);
}

void set_scalar(TomlValue& out, const toml::node& node) {
  if (const auto* flag = node.as_boolean()) {
    out.kind = TomlValue::Kind::on_off;
    out.text = flag->get() ? "true" : "false";
  } else if (const auto* whole = node.as_integer()) {
    set_number(out, static_cast<double>(whole->get()), fmt::format("{}", whole->get()));
  } else if (const auto* number = node.as_floating_point()) {
    set_number(out, number->get(), fmt::format("{}", number->get()));
  } else if (const auto* text = node.as_string()) {
    out.kind = TomlValue::Kind::text;
    out.text = text->get();
  } else if (const auto* date = node.as_date()) {
    set_date(out, date_text(date->get()));
  } else if (const auto* time = node.as_time()) {
    set_date(out, date_text(time->get()));
  } else if (const auto* moment = node.as_date_time()) {
    set_date(out, date_text(moment->get()));
  }
}

TomlValue converted(const toml::node& node, std::string key, int line) {
  TomlValue out;
  out.key = std::move(key);
  out.line = line;
  if (const auto* table = node.as_table()) {
    for (const auto& [inner_key, inner] : *table) {
      const auto& where = inner_key.source().begin;
      out.inner.push_back(
          converted(inner, std::string(inner_key.str()), static_cast<int>(where.line)));
    }
    // The library sorts by key.
    std::stable_sort(out.inner.begin(), out.inner.end(),
                     [](const auto& a, const auto& b) { return a.line < b.line; });
  } else if (const auto* list = node.as_array()) {
    out.kind = TomlValue::Kind::list;
    for (const toml::node& inner : *list)
      out.inner.push_back(converted(inner, {}, static_cast<int>(inner.source().begin.line)));
  } else {
    set_scalar(out, node);
  }
  return out;
}

}  // namespace

const TomlValue* TomlValue::find(std::string_view name) const {
  const auto found = std::find_if(inner.begin(), inner.end(),
                                  [name](const TomlValue& one) { return one.key == name; });
  return found == inner.end() ? nullptr : &*found;
}

TomlValue parse_toml(std::string_view text, const std::string& name) {
  try {
    return converted(toml::parse(text, name), {}, 0);
  } catch (const toml::parse_error& error) {
    throw InputError(fmt::format("{}:{}: this is no TOML: {}", name, error.source().begin.line,
                                 error.description()));
  }
}

TomlValue read_toml(const std::filesystem::path& path) {
  if (const std::string why = why_unreadable(path); !why.empty())
    throw InputError(fmt::format("cannot read '{}': {}", path.string(), why));
  const std::string text = first_bytes(path, kMostBytes + 1);
  if (text.size() > kMostBytes)
    throw InputError(path.string() + ": larger than 1 MiB, so this is not such a file");
  return parse_toml(text, path.string());
}

std::string toml_text(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20 || byte == 0x7F) {
      out += fmt::format("\\u{:04X}", byte);
    } else {
      out += c;
    }
  }
  return out + "\"";
}

}  // namespace lull::files
