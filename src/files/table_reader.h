#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/toml_file.h"

namespace lull::files {

/// A number with its range, both ends allowed, and the units beside its own for those who mistake
/// one for the other.
struct Quantity {
  const char* key;  ///< "pixel_um"
  double low;
  double high;
  const char* unit = "";          ///< "um"
  const char* thousandth = "";    ///< "nm"; empty: none
  const char* thousandfold = "";  ///< "mm"
};

/// Reads one table of a TOML file, strictly: every key is known, every value of its kind and within
/// its range. All functions throw InputError with file and line.
class TableReader {
 public:
  /// @param name  "[optics]" for messages; empty: the whole file.
  /// @param known  all keys that the table may have; empty: any.
  TableReader(const TomlValue& table, std::string file, std::string name,
              const std::vector<std::string>& known);

  [[nodiscard]] std::optional<double> number(const Quantity& quantity) const;
  [[nodiscard]] double required(const Quantity& quantity) const;
  [[nodiscard]] std::optional<int> whole_number(const Quantity& quantity) const;

  /// Empty where there is none.
  [[nodiscard]] std::string text(const char* key) const;
  [[nodiscard]] std::string required_text(const char* key) const;

  /// A date, also one in quotes; empty where there is none.
  [[nodiscard]] std::string date(const char* key) const;

  /// A list of texts, or one text alone, each with its line.
  [[nodiscard]] std::vector<TomlValue> texts(const char* key) const;

  /// Null where there is none.
  [[nodiscard]] const TomlValue* table(const char* key) const;

  /// Those of [[key]].
  [[nodiscard]] std::vector<const TomlValue*> tables(const char* key) const;

  [[nodiscard]] const TomlValue& values() const { return table_; }

  /// "ridge.toml:12: [optics]: " and what is wrong there.
  [[nodiscard]] InputError error(int line, const std::string& what) const;

 private:
  [[nodiscard]] const TomlValue& needed(const char* key) const;
  [[nodiscard]] InputError out_of_range(const TomlValue& value, const Quantity& quantity) const;

  const TomlValue& table_;
  std::string file_;
  std::string name_;
};

}  // namespace lull::files
