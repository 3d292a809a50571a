#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace lull::capture {

/// A capture as the folder shows it, not opened: a file, or a numbered sequence of pictures.
struct FoundCapture {
  std::string id;      ///< follows from its name within the folder
  std::string name;    ///< of the file, or the pattern of the sequence
  std::string folder;  ///< below that of the desk, "2026-03-01/moon"; empty: the desk's own
  std::string path;    ///< as the command line takes it
  std::uintmax_t bytes = 0;
  std::int64_t modified_s = 0;  ///< since 1970, UTC; of a sequence the last
  std::int64_t pictures = 0;    ///< of a sequence

  friend bool operator==(const FoundCapture&, const FoundCapture&) = default;
};

/// What is wrong with a folder, and what to do.
struct FolderProblem {
  std::string what;
  std::string remedy;
};

/// What a folder holds.
struct FolderContent {
  std::vector<FoundCapture> captures;  ///< by folder and name
  /// Folders that cannot be read, limits that were met, and captures that are passed over.
  std::vector<FolderProblem> problems;
};

/// An id for a name: 16 hexadecimal digits (FNV-1a of 64 bits, draft-eastlake-fnv).
[[nodiscard]] std::string id_of(const std::string& name);

/// Whether a path, its links followed, lies within a folder.
[[nodiscard]] bool lies_within(const std::filesystem::path& path,
                               const std::filesystem::path& folder);

/// Looks through the folder and those below it, four deep. Passed over: hidden names, what is no
/// plain file, links that lead out, pictures that form no sequence of three or more, and `results`.
/// @throws InputError where the folder itself cannot be read.
[[nodiscard]] FolderContent captures_in(const std::filesystem::path& folder,
                                        const std::filesystem::path& results);

}  // namespace lull::capture
