#pragma once

#include <filesystem>

/// Where paths lead, without an exception: what is wrong with a path shows when it is opened.
namespace lull::files {

/// Absolute, links followed as far as they exist; the path itself where that cannot be found out,
/// such as in a folder that is gone.
[[nodiscard]] std::filesystem::path place_of(const std::filesystem::path& path);

/// Whether both are there and are one file, also by links or hard links.
[[nodiscard]] bool same_file(const std::filesystem::path& a, const std::filesystem::path& b);

}  // namespace lull::files
