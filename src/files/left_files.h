#pragma once

#include <filesystem>
#include <string>

/// Temporary files of results: their names, and those that a killed run left.
namespace lull::files {

/// A new name, such as ".lull-1f0c9a3e-4711-98765-0123456789abcdef.part": the system since its last
/// start (and its space of process ids), the process, when that began, and a random number.
[[nodiscard]] std::string temporary_name();

/// Removes the temporary files of this user in a folder whose process is gone. Where that cannot be
/// known (another machine, a container, before the last start), those that nobody changed for two
/// days. Everything else stays, and so does what cannot be removed.
void remove_left_files(const std::filesystem::path& folder);

}  // namespace lull::files
