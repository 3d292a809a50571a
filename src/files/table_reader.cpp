#include "files/table_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/choices.h"

namespace lull::files {

namespace {

constexpr double kUnits = 1000;

// "1000000", where {:g} would write 1e+06.
std::string plain_number(double value) {
  return value == std::floor(value) ? fmt::format("{:.0f}", value) : fmt::format("{:g}", value);
}

// The nearest known key; also one that was not written to its end, or lacks its unit.
std::string meant(const std::string& key, const std::vector<std::string>& known) {
  std::string text = did_you_mean(key, known);
  const auto begins = [&](const std::string& one) { return one.starts_with(key); };
  constexpr std::size_t kFewestLetters = 3;
  if (!text.empty() || key.size() < kFewestLetters ||
      std::count_if(known.begin(), known.end(), begins) != 1)
    return text;
  return fmt::format(" Did you mean {}?", *std::find_if(known.begin(), known.end(), begins));
}

bool is_within(double value, const Quantity& quantity) {
  return value >= quantity.low && value <= quantity.high;
}

}  // namespace

TableReader::TableReader(const TomlValue& table, std::string file, std::string name,
                         const std::vector<std::string>& known)
    : table_(table), file_(std::move(file)), name_(std::move(name)) {
  if (table_.kind != TomlValue::Kind::table) throw error(table_.line, "this is no table");
  if (known.empty()) return;
  for (const TomlValue& value : table_.inner) {
    if (std::find(known.begin(), known.end(), value.key) != known.end()) continue;
    throw error(value.line, fmt::format("unknown key '{}'.{} Known: {}", value.key,
                                        meant(value.key, known), listed(known)));
  }
}

InputError TableReader::error(int line, const std::string& what) const {
  const std::string where = line > 0 ? fmt::format("{}:{}", file_, line) : file_;
  return InputError(name_.empty() ? fmt::format("{}: {}", where, what)
                                  : fmt::format("{}: {}: {}", where, name_, what));
}

const TomlValue& TableReader::needed(const char* key) const {
  if (const TomlValue* value = table_.find(key)) return *value;
  throw error(table_.line, fmt::format("'{}' is missing", key));
}

InputError TableReader::out_of_range(const TomlValue& value, const Quantity& quantity) const {
  std::string what = fmt::format("{} = {}: {} to {}", quantity.key, value.text,
                                 plain_number(quantity.low), plain_number(quantity.high));
  if (*quantity.unit != '\0') what += fmt::format(" {}", quantity.unit);
  what += " is possible";
  const auto add_hint = [&](const char* unit, double meant) {
    if (*unit == '\0' || !is_within(meant, quantity)) return;
    what += fmt::format(". If these are {}, write {} = {:.6g}", unit, quantity.key, meant);
  };
  add_hint(quantity.thousandth, value.number / kUnits);
  add_hint(quantity.thousandfold, value.number * kUnits);
  return error(value.line, what);
}

std::optional<double> TableReader::number(const Quantity& quantity) const {
  const TomlValue* value = table_.find(quantity.key);
  if (value == nullptr) return std::nullopt;
  if (value->kind != TomlValue::Kind::number)
    throw error(value->line, fmt::format("{}: this is no number", quantity.key));
  if (!is_within(value->number, quantity)) throw out_of_range(*value, quantity);
  return value->number;
}

double TableReader::required(const Quantity& quantity) const {
  static_cast<void>(needed(quantity.key));
  return *number(quantity);
}

std::optional<int> TableReader::whole_number(const Quantity& quantity) const {
  const std::optional<double> value = number(quantity);
  if (!value) return std::nullopt;
  if (*value != std::floor(*value))
    throw error(needed(quantity.key).line,
                fmt::format("{}: this is no whole number", quantity.key));
  return static_cast<int>(*value);
}

std::string TableReader::text(const char* key) const {
  const TomlValue* value = table_.find(key);
  if (value == nullptr) return {};
  if (value->kind != TomlValue::Kind::text || value->text.empty())
    throw error(value->line, fmt::format("{}: give a text, in quotes", key));
  return value->text;
}

std::string TableReader::required_text(const char* key) const {
  static_cast<void>(needed(key));
  return text(key);
}

std::string TableReader::date(const char* key) const {
  const TomlValue* value = table_.find(key);
  if (value == nullptr) return {};
  if (value->kind != TomlValue::Kind::date && value->kind != TomlValue::Kind::text)
    throw error(value->line, fmt::format("{}: give a date, such as 2026-03-01", key));
  return value->text;
}

std::vector<TomlValue> TableReader::texts(const char* key) const {
  const TomlValue* value = table_.find(key);
  if (value == nullptr) return {};
  const std::vector<TomlValue> all =
      value->kind == TomlValue::Kind::list ? value->inner : std::vector<TomlValue>{*value};
  for (const TomlValue& one : all) {
    if (one.kind != TomlValue::Kind::text || one.text.empty())
      throw error(one.line, fmt::format("{}: give a text, or a list of texts, in quotes", key));
  }
  return all;
}

const TomlValue* TableReader::table(const char* key) const {
  const TomlValue* value = table_.find(key);
  if (value != nullptr && value->kind != TomlValue::Kind::table)
    throw error(value->line, fmt::format("'{}' is a table: write [{}]", key, key));
  return value;
}

std::vector<const TomlValue*> TableReader::tables(const char* key) const {
  const TomlValue* value = table_.find(key);
  if (value == nullptr) return {};
  std::vector<const TomlValue*> out;
  for (const TomlValue& one : value->inner) out.push_back(&one);
  const bool are_tables = std::all_of(out.begin(), out.end(), [](const TomlValue* one) {
    return one->kind == TomlValue::Kind::table;
  });
  if (value->kind != TomlValue::Kind::list || !are_tables)
    throw error(value->line, fmt::format("'{}' is a list of tables: write [[{}]]", key, key));
  return out;
}

}  // namespace lull::files
