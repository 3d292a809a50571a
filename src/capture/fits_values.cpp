#include "capture/fits_values.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

namespace lull::capture {

namespace {

constexpr int kLowestOctave = -150;  // the smallest float is 2^-149
constexpr int kWordBits = 16;
constexpr double kNearlyAll = 0.999;

// What a walk over a line saw last.
struct Seen {
  float value = 0;
  int distance = 0;  // 0: nothing yet

  void step(float next) {
    if (std::isfinite(next))
      *this = {next, 1};
    else if (distance > 0)
      ++distance;
  }
};

struct Mean {
  double sum = 0;
  double weight = 0;

  void add(const Seen& seen) {
    if (seen.distance == 0) return;
    sum += static_cast<double>(seen.value) / seen.distance;
    weight += 1.0 / seen.distance;
  }
};

}  // namespace

void FitsRange::add(std::span<const float> values) {
  for (const float value : values) {
    if (!std::isfinite(value)) {
      ++undefined;
      continue;
    }
    const auto exact = static_cast<double>(value);
    lowest = std::min(lowest, exact);
    highest = std::max(highest, exact);
    integral = integral && exact == std::floor(exact);
    if (exact > 0) ++by_octave_[static_cast<std::size_t>(std::ilogb(exact) - kLowestOctave)];
  }
}

std::string FitsRange::warning() const {
  const auto all = std::accumulate(by_octave_.begin(), by_octave_.end(), std::int64_t{0});
  if (all == 0 || highest <= 0) return {};
  const int lowest_seen = std::max(0, std::ilogb(highest) - kWordBits - kLowestOctave);
  const auto lost =
      std::accumulate(by_octave_.begin(), by_octave_.begin() + lowest_seen, std::int64_t{0});
  if (static_cast<double>(lost) < kNearlyAll * static_cast<double>(all)) return {};
  return fmt::format(
      "the highest value, {:.3g}, is more than {} times that of nearly all others, which therefore "
      "become one level; replace stray values in the program that wrote the file",
      highest, 1 << kWordBits);
}

void fill_undefined(std::span<float> plane, int width, int step) {
  const auto columns = static_cast<std::size_t>(width);
  const auto rows = plane.size() / columns;
  const auto apart = static_cast<std::size_t>(step);
  std::vector<Mean> means(plane.size());
  // Along a line, once from each end; lines of one colour begin at each of `step` places.
  const auto walk = [&](std::size_t first, std::size_t stride, std::size_t count) {
    Seen seen;
    for (std::size_t i = 0; i < count; ++i) {
      const std::size_t at = first + i * stride;
      if (!std::isfinite(plane[at])) means[at].add(seen);
      seen.step(plane[at]);
    }
    seen = {};
    for (std::size_t i = count; i-- > 0;) {
      const std::size_t at = first + i * stride;
      if (!std::isfinite(plane[at])) means[at].add(seen);
      seen.step(plane[at]);
    }
  };
  for (std::size_t from = 0; from < apart; ++from) {
    for (std::size_t y = 0; y < rows && from < columns; ++y)
      walk(y * columns + from, apart, (columns - from + apart - 1) / apart);
    for (std::size_t x = 0; x < columns && from < rows; ++x)
      walk(from * columns + x, apart * columns, (rows - from + apart - 1) / apart);
  }
  for (std::size_t i = 0; i < plane.size(); ++i) {
    if (std::isfinite(plane[i])) continue;
    plane[i] = means[i].weight > 0 ? static_cast<float>(means[i].sum / means[i].weight)
                                   : std::numeric_limits<float>::quiet_NaN();
  }
}

}  // namespace lull::capture
