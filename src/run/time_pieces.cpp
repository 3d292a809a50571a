#include "run/time_pieces.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull::run {

namespace {

constexpr double kMostPieces = 1e5;  // half a turn of any planet that fits a frame takes fewer

}  // namespace

TimePieces cut_in_time(const survey::Survey& survey, double px_per_s, double most_px) {
  double first_s = std::numeric_limits<double>::max();
  double last_s = std::numeric_limits<double>::lowest();
  for (const quality::FrameRecord& record : survey.records) {
    if (!record.usable()) continue;
    first_s = std::min(first_s, record.time_s);
    last_s = std::max(last_s, record.time_s);
  }
  const double span_s = std::max(last_s - first_s, 0.0);
  const double count =
      std::clamp(std::ceil(span_s * std::abs(px_per_s) / most_px), 1.0, kMostPieces);
  TimePieces pieces;
  pieces.length_s = span_s / count;
  pieces.records.resize(static_cast<std::size_t>(count));
  for (std::size_t i = 0; i < survey.records.size(); ++i) {
    const double at = (survey.records[i].time_s - first_s) / std::max(pieces.length_s, 1e-9);
    pieces.records[static_cast<std::size_t>(std::clamp(at, 0.0, count - 1))].push_back(i);
  }
  return pieces;
}

}  // namespace lull::run
