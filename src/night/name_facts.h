#pragma once

#include <string>
#include <vector>

#include "night/facts.h"
#include "profile/profile.h"

namespace lull::night {

/// A pattern of [night] names: "{date}_{target}_{filter}". A part stands for one or more bytes, as
/// few as fit; all else stands for itself, in any case of letters.
class NameRule {
 public:
  /// @throws InputError with file and line: an unknown part, a brace that is not closed, a part
  /// that occurs twice.
  NameRule(const profile::Line& pattern, const std::string& file);

  /// What a name, without its ending, says by this rule. @return whether it fits.
  [[nodiscard]] bool read(const std::string& name, NameFacts& facts) const;

 private:
  struct Piece {
    std::string part{};  ///< "target"; empty: a text
    std::string text{};  ///< in small letters
  };

  [[nodiscard]] bool fits(const std::string& name, std::size_t at, std::size_t piece,
                          std::vector<std::string>& values, int& steps) const;

  std::vector<Piece> pieces_;
};

/// How names are read: by the rules of a profile, else by the words that people use.
class NameReader {
 public:
  explicit NameReader(const profile::Profile& profile);

  /// @param folder  below that of the night. @param name  of the file or sequence.
  [[nodiscard]] NameFacts read(const std::string& folder, const std::string& name) const;

 private:
  profile::Profile profile_;
  std::vector<NameRule> rules_;
};

/// "10ms", "0.5 s", "250us" in seconds; none for any other text.
[[nodiscard]] std::optional<double> exposure_in(const std::string& text);

}  // namespace lull::night
