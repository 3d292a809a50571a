#include "run/time_pieces.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull::run {

namespace {

constexpr double kMostPieces = 1e5;  // half a turn of any planet that fits a frame takes fewer

}  // namespace

TimePieces cut_in_time(const survey::Survey& survey, double px_per_s, const PieceBounds& bounds) {
  double first_s = std::numeric_limits<double>::max();
  double last_s = std::numeric_limits<double>::lowest();
  double usable = 0;
  for (const quality::FrameRecord& record : survey.records) {
    if (!record.usable()) continue;
    ++usable;
    first_s = std::min(first_s, record.time_s);
    last_s = std::max(last_s, record.time_s);
  }
  const double span_s = std::max(last_s - first_s, 0.0);
  const double motion_px = span_s * std::abs(px_per_s);
  const double shortest = std::ceil(motion_px / bounds.least_px);
  const double fullest = std::floor(usable / static_cast<double>(bounds.frames));
  const double longest = std::ceil(motion_px / bounds.most_px);
  const double count = std::clamp(std::max(std::min(shortest, fullest), longest), 1.0, kMostPieces);
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
