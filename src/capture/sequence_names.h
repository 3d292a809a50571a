#pragma once

#include <optional>
#include <string>

namespace lull::capture {

/// The name of a picture that may belong to a numbered sequence: moon_0042.png.
struct NumberedName {
  std::string before;  ///< text before the number
  std::string digits;
  std::string after;  ///< text after it

  /// The last digits before the ending are the number; none where there are none.
  [[nodiscard]] static std::optional<NumberedName> parse(const std::string& name);
};

/// The numbers of the pictures whose names have the same texts around them.
class SequenceNumbers {
 public:
  void add(const std::string& digits);

  /// As the command line takes the sequence: moon_%04d.png, or moon_%d.png where numbers are not
  /// filled up with zeros. A percent sign in a name is doubled.
  [[nodiscard]] std::string pattern(const std::string& before, const std::string& after) const;

 private:
  int narrowest_ = 0;
  int widest_ = 0;
  bool is_filled_ = false;  ///< a zero in front was seen
};

}  // namespace lull::capture
