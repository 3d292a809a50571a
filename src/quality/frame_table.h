#pragma once

#include <string>
#include <vector>

namespace lull::quality {

/// What a CSV file tells of every frame of a capture.
struct FrameTable {
  struct Column {
    std::string name;
    std::vector<double> values;  ///< by frame, from 0; NaN where the table leaves it empty
  };

  std::string path;
  std::vector<Column> columns;  ///< that were read, at least one

  [[nodiscard]] std::size_t frames() const { return columns.front().values.size(); }
};

/// The table that `truth` means: itself, or for NAME.truth.fits NAME.frames.csv beside it.
[[nodiscard]] std::string strehl_table_path(const std::string& truth);

// Both read a CSV file (RFC 4180) with a column `frame`. Each frame from 0 on has one row, in any
// order. @throws InputError: cannot be read, a column is missing, a frame is missing, doubled or
// not a whole number, a value is out of range. The message names the line.

/// The true Strehl ratios of a simulated capture, from 0 to 1: the column `strehl_tilt_removed`, or
/// else the first one that starts with `strehl`.
[[nodiscard]] FrameTable read_strehl_table(const std::string& path);

/// Scores of a measure of one's own, higher is better: every column that starts with `score`.
[[nodiscard]] FrameTable read_score_table(const std::string& path);

}  // namespace lull::quality
