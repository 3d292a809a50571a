#pragma once

#include <string>
#include <vector>

namespace lull::quality {

/// The true Strehl ratio of every frame of a simulated capture.
struct StrehlTable {
  std::string path;            ///< of the table
  std::string column;          ///< that was read
  std::vector<double> strehl;  ///< by frame, from 0; NaN where the table leaves it empty
};

/// The table that `truth` means: itself, or for NAME.truth.fits NAME.frames.csv beside it.
[[nodiscard]] std::string strehl_table_path(const std::string& truth);

/// Reads a CSV file (RFC 4180) with the columns `frame` and `strehl_tilt_removed`, or else the
/// first one that starts with `strehl`. Each frame from 0 on has one row, in any order.
/// @throws InputError: cannot be read, a column is missing, a frame is missing, doubled or not a
///         whole number, a ratio is not a number from 0 to 1. The message names the line.
[[nodiscard]] StrehlTable read_strehl_table(const std::string& path);

}  // namespace lull::quality
