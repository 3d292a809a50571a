#pragma once

#include <span>
#include <string>

namespace lull::files {

/// One record of comma-separated values, with its line end (CR LF). Fields with a comma, a quote
/// or a line break are quoted, quotes doubled. Source: RFC 4180, section 2.
[[nodiscard]] std::string csv_line(std::span<const std::string> fields);

}  // namespace lull::files
