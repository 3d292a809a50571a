#pragma once

#include <filesystem>
#include <string>

namespace lull::report {

/// Link from a page to a file: relative, so that both can be moved together. A reference by
/// RFC 3986, all bytes percent-encoded but the unreserved ones and '/'.
[[nodiscard]] std::string relative_link(const std::filesystem::path& target,
                                        const std::filesystem::path& page);

}  // namespace lull::report
