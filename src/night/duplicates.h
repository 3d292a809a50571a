#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "capture/folder.h"

namespace lull::night {

struct Duplicate {
  std::string path;
  std::string same_as;  ///< the first with these bytes, by name
  bool is_sure = true;  ///< to the last byte; else as far as was read
};

/// Bytes that are read to find duplicates: less than a second's worth where the disk is fast.
inline constexpr std::uintmax_t kReadForDuplicates = 250'000'000;

/// Takes out the captures that have the same bytes as one before them. One file under two names is
/// known at once. Of those of the same length, the beginnings are read, then places all over; then
/// all of them whole, if `most_read` bytes do for that. Where they do not, those that are alike so
/// far stay among the captures: same_bytes() tells when it is needed. Sequences are not compared.
/// Files that cannot be read stay.
[[nodiscard]] std::vector<Duplicate> take_duplicates(std::vector<capture::FoundCapture>& captures,
                                                     std::uintmax_t most_read = kReadForDuplicates);

/// Reads both to the last byte, or to the first that differs. Files that cannot be read differ.
/// @throws Interrupted.
[[nodiscard]] bool same_bytes(const std::string& a, const std::string& b);

/// The files without those that have the same bytes as one before them, whatever there is to read.
[[nodiscard]] std::vector<std::string> without_copies(const std::vector<std::string>& paths);

/// Identifies what a run reads: checksums as in reports, of a sequence those of its first, middle
/// and last picture with the names and lengths of all.
/// @throws InputError when a file cannot be read.
[[nodiscard]] std::string input_fingerprint(const std::string& path);

}  // namespace lull::night
