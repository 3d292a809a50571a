#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

namespace lull::capture {

struct FileFacts {
  std::uintmax_t bytes = 0;
  std::int64_t modified_s = 0;  ///< since 1970
};

/// Whether the file that a link leads to is meant, or a link is no plain file.
enum class Links { followed, refused };

/// None unless it is a plain file: reading a pipe or a device may never end.
[[nodiscard]] std::optional<FileFacts> plain_file(const std::filesystem::path& path, Links links);

}  // namespace lull::capture
