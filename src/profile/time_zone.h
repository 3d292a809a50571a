#pragma once

#include <optional>
#include <string>

namespace lull::profile {

/// Minutes before UTC of "+01:00", "-03:30" or "UTC"; none for any other text.
[[nodiscard]] std::optional<int> fixed_offset_min(const std::string& zone);

/// Whether it is such an offset, or a zone that the database of this machine has. Where there is no
/// database, every name that could be one.
[[nodiscard]] bool is_time_zone(const std::string& zone);

}  // namespace lull::profile
