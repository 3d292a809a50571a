#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace lull::capture {

/// A name such as "moon_%04d.png": folder, text before the number, its least width, text after.
struct SequencePattern {
  std::string folder;
  std::string before;
  int digits = 0;  ///< numbers are filled up with zeros to this width; 0 = as they are
  std::string after;

  [[nodiscard]] std::string path_of(std::int64_t number) const;

  /// The digits in a file name that has the texts of the pattern and a number of any width between.
  [[nodiscard]] std::optional<std::string_view> digits_in(std::string_view name) const;
};

/// The pattern in the last part of a path: one %d or %0Nd, and %% for a percent sign.
[[nodiscard]] std::optional<SequencePattern> parse_pattern(const std::string& path);

}  // namespace lull::capture
