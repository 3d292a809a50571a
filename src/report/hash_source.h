#pragma once

#include <string>
#include <string_view>

namespace lull::report {

/// Allows one script or style of a page by its text, and no other: a hash as Content Security
/// Policy Level 3 has it, section 2.3.1.
[[nodiscard]] std::string hash_source(std::string_view text);

}  // namespace lull::report
