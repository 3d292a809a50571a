#pragma once

#include <string>
#include <vector>

#include "capture/folder.h"

namespace lull::night {

struct Duplicate {
  std::string path;
  std::string same_as;  ///< the first with these bytes, by name
};

/// Takes out the captures that have the same bytes as one before them. Only those of the same
/// length are read; sequences are not compared. Files that cannot be read stay.
[[nodiscard]] std::vector<Duplicate> take_duplicates(std::vector<capture::FoundCapture>& captures);

/// Identifies what a run reads: checksums as in reports, of a sequence those of its first, middle
/// and last picture with the names and lengths of all.
/// @throws InputError when a file cannot be read.
[[nodiscard]] std::string input_fingerprint(const std::string& path);

}  // namespace lull::night
