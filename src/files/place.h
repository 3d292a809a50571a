#pragma once

#include <filesystem>
#include <optional>

/// Where paths lead, without an exception: what is wrong with a path shows when it is opened.
namespace lull::files {

/// Where a chain of links ends, be there a file or not; the path itself if it is no link.
/// Nothing if the links lead round in a circle.
[[nodiscard]] std::optional<std::filesystem::path> end_of_links(std::filesystem::path path);

/// Absolute, links followed, also to where there is no file yet; the path itself where that cannot
/// be found out, such as in a folder that is gone.
[[nodiscard]] std::filesystem::path place_of(const std::filesystem::path& path);

/// Whether both are there and are one file, also by links or hard links.
[[nodiscard]] bool same_file(const std::filesystem::path& a, const std::filesystem::path& b);

}  // namespace lull::files
