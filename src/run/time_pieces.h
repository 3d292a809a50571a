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

/// The fewest pieces, some of them without frames, that no motion of this speed crosses by more
/// than `most_px`.
/// @param survey  with at least one usable frame.
[[nodiscard]] TimePieces cut_in_time(const survey::Survey& survey, double px_per_s, double most_px);

}  // namespace lull::run
