#include "stack/candidates.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "core/error.h"
#include "core/statistics.h"

namespace lull::stack {

namespace {

constexpr double kReferenceShare = 0.1;
constexpr std::size_t kFewestReference = 8;
constexpr double kMostAutoShare = 0.75;  // worse frames add nothing

// Range of `length` pixels that half of the frames with these offsets cover.
std::pair<int, int> covered_along(const std::vector<double>& shifts, int length) {
  constexpr int kMargin = 3;
  const double median = upper_median(std::vector(shifts));
  const int low = std::clamp(static_cast<int>(std::ceil(-median)) + kMargin, 0, length - 1);
  const int high =
      std::clamp(static_cast<int>(std::floor(length - median)) - kMargin, low + 1, length);
  return {low, high};
}

// Pixels at an edge of `length` that the ends of an edge of `across` turn away from. Something is
// always left.
int turned_off(double turn, int across, int length) {
  const auto px = static_cast<int>(std::ceil(0.5 * across * std::sin(turn)));
  return std::clamp(px, 0, length / 4);
}

}  // namespace

Candidates::Candidates(const survey::Survey& survey, const quality::Keep& keep,
                       const std::string& path)
    : survey_(survey),
      order_(quality::rank(survey.records)),
      automatic_(std::holds_alternative<quality::KeepAuto>(keep)) {
  if (order_.size() < 2) {
    throw NothingUsable(fmt::format(
        "{}: {} of {} frames can be used; a stack needs at least 2 in which the object is found",
        path, order_.size(), survey.records.size()));
  }
  if (!survey.shows_object()) {
    throw NothingUsable(
        fmt::format("{}: most frames show only noise, or the fixed pattern of the sensor; check "
                    "that the object is in the frame, the focus and the exposure",
                    path));
  }
  choose(keep);
  origin_ = {median_of_first([](const auto& r) { return r.offset.x_px; }),
             median_of_first([](const auto& r) { return r.offset.y_px; })};
  median_sharpness_ = median_of_first([](const auto& r) { return r.sharpness; });
  median_noise_ = median_of_first([](const auto& r) { return r.noise; });
}

void Candidates::choose(const quality::Keep& keep) {
  const auto usable = static_cast<std::int64_t>(order_.size());
  const auto most =
      static_cast<std::int64_t>(std::llround(kMostAutoShare * static_cast<double>(usable)));
  const std::int64_t kept =
      automatic_ ? std::clamp<std::int64_t>(std::max<std::int64_t>(most, 20), 2, usable)
                 : std::max<std::int64_t>(quality::kept_frames(keep, usable),
                                          std::min<std::int64_t>(2, usable));
  count_ = static_cast<std::size_t>(kept);
  const auto share = static_cast<std::size_t>(kReferenceShare * static_cast<double>(usable));
  first_count_ = std::min({std::max(share, kFewestReference), kMostReference, count_});
  refined_count_ = std::min(kMostReference, count_);
}

// Median over the frames of the first reference.
template <class Value>
double Candidates::median_of_first(Value value) const {
  std::vector<double> values;
  for (std::size_t i = 0; i < first_count_; ++i) values.push_back(value(at(i)));
  return upper_median(std::move(values));
}

std::set<FrameIndex> Candidates::indices() const {
  std::set<FrameIndex> out;
  for (std::size_t i = 0; i < count_; ++i) out.insert(at(i).index);
  for (const std::size_t i : evenly(kMostEvenly)) out.insert(at(i).index);
  return out;
}

std::set<FrameIndex> Candidates::reference_indices() const {
  std::set<FrameIndex> out;
  for (std::size_t i = 0; i < std::max(first_count_, refined_count_); ++i) out.insert(at(i).index);
  return out;
}

std::vector<std::size_t> Candidates::evenly(std::size_t most) const {
  std::vector<std::size_t> in_time(order_.size());
  std::iota(in_time.begin(), in_time.end(), std::size_t{0});
  std::sort(in_time.begin(), in_time.end(),
            [this](std::size_t a, std::size_t b) { return at(a).index < at(b).index; });
  const std::size_t count = std::min(most, in_time.size());
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < count; ++i) out.push_back(in_time[i * in_time.size() / count]);
  std::sort(out.begin(), out.end());
  return out;
}

std::vector<std::size_t> Candidates::checkpoints() const {
  if (!automatic_) return {count()};
  std::vector<std::size_t> counts;
  for (const double share : {0.1, 0.14, 0.2, 0.28, 0.4, 0.56, 0.8, 1.0}) {
    const auto frames = std::max<std::size_t>(
        2, static_cast<std::size_t>(std::llround(share * static_cast<double>(count()))));
    if (counts.empty() || frames > counts.back()) counts.push_back(frames);
  }
  return counts;
}

Box Candidates::covered(std::size_t count, Size reference) const {
  std::vector<double> x;
  std::vector<double> y;
  std::vector<double> turns;
  for (std::size_t i = 0; i < count; ++i) {
    turns.push_back(std::abs(survey_.field_turn.at(at(i).index)));
    x.push_back(at(i).offset.x_px - origin_.x_px);
    y.push_back(at(i).offset.y_px - origin_.y_px);
  }
  const auto [x0, x1] = covered_along(x, reference.width_px);
  const auto [y0, y1] = covered_along(y, reference.height_px);
  const double turn = upper_median(std::move(turns));
  const int across = turned_off(turn, reference.height_px, x1 - x0);
  const int down = turned_off(turn, reference.width_px, y1 - y0);
  return {x0 + across, y0 + down, x1 - across, y1 - down};
}

}  // namespace lull::stack
