#pragma once

#include <cstddef>
#include <vector>

#include "survey/survey.h"

namespace lull::run {

/// A capture cut in time into equal pieces, in each of which a globe turns by little.
struct TimePieces {
  double length_s = 0;                              ///< of each
  std::vector<std::vector<std::size_t>> records{};  ///< places in Survey::records, of each piece

  /// From the first usable frame to the last.
  [[nodiscard]] double span_s() const { return length_s * static_cast<double>(records.size()); }
};

/// How long pieces are.
struct PieceBounds {
  double least_px = 0.3;     ///< of motion: shorter pieces show nothing more
  double most_px = 2.5;      ///< likewise: so far registration follows
  std::size_t frames = 160;  ///< usable ones: by so many a piece is freed of the air's distortion
};

/// Pieces of usable frames enough, as far as motion at this speed allows, and otherwise as short as
/// the bounds allow; some may be without frames.
/// @param survey  with at least one usable frame.
[[nodiscard]] TimePieces cut_in_time(const survey::Survey& survey, double px_per_s,
                                     const PieceBounds& bounds = {});

}  // namespace lull::run
