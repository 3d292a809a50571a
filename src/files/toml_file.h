#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace lull::files {

/// A value of a TOML file (TOML 1.0), with the line where it stands.
struct TomlValue {
  enum class Kind { on_off, number, text, date, list, table };

  Kind kind = Kind::table;
  std::string key{};  ///< empty in a list
  int line = 0;       ///< from 1; 0: nowhere
  double number = 0;
  std::string text{};              ///< of anything but lists and tables: "true", "15", "2026-03-01"
  std::vector<TomlValue> inner{};  ///< of a list or a table, in the order of the file

  /// The value of that key, of a table; null: none.
  [[nodiscard]] const TomlValue* find(std::string_view name) const;
};

/// The table that a whole file is.
/// @throws InputError with file and line: no TOML; more than 1 MiB; too deep. ReadError.
[[nodiscard]] TomlValue read_toml(const std::filesystem::path& path);

/// The same of a text. @param name  of the file, for messages.
[[nodiscard]] TomlValue parse_toml(std::string_view text, const std::string& name);

/// A text as TOML has it, in quotes.
[[nodiscard]] std::string toml_text(std::string_view text);

}  // namespace lull::files
