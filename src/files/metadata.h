#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "files/picture.h"

namespace lull::files {

/// One figure or option of the run, kept inside the picture file.
struct Card {
  std::string key;  ///< 1 to 8 of A-Z 0-9 _ - (FITS Standard 4.0, section 4.1.2.1)
  std::variant<bool, std::int64_t, double, std::string> value;
  std::string comment;  ///< what it is, with its unit; short
};

/// How the values of a picture follow the light.
enum class Transfer {
  linear,  ///< in proportion
  screen,  ///< by a curve that makes them fit for a screen: tagged with srgb_profile()
};

/// What a picture file states about itself beside its samples.
struct Metadata {
  std::string description;  ///< what it is and how it was made; UTF-8, lines end in \n
  std::vector<Card> cards;
  /// When it was made, UTC. Without it no date is written, so that equal runs give equal bytes.
  std::optional<std::chrono::sys_seconds> date;
  Transfer transfer = Transfer::linear;
};

/// Name and version of this program, for the Software fields.
[[nodiscard]] std::string software_name();

/// Description, scale of the 16-bit values and all cards as lines of text, for formats that have
/// room for one text only.
[[nodiscard]] std::string describe(const Metadata& metadata, const Encoding& encoding);

/// One line: the values of 0 and 65535.
[[nodiscard]] std::string describe_scale(Transfer transfer, const Encoding& encoding);

}  // namespace lull::files
