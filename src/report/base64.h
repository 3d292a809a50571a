#pragma once

#include <cstddef>
#include <span>
#include <string>

namespace lull::report {

/// Base64 (RFC 4648, section 4).
[[nodiscard]] std::string base64(std::span<const std::byte> bytes);

}  // namespace lull::report
