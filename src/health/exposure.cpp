#include "health/exposure.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "core/parallel.h"

namespace lull::health {

namespace {

constexpr double kTail = 0.001;
constexpr std::int64_t kTellingSamples =
    50;                                  // beside a level of so many, an empty one is no chance
constexpr std::int64_t kRichAround = 4;  // such levels on either side
constexpr std::array<std::size_t, 4> kNeighbours = {8, 64, 512, 4096};  // levels on either side:
                                                                        // combs are fine or coarse
constexpr double kFewestLevels = 8;

double level_below(const std::vector<std::int64_t>& counts, std::int64_t total, double share) {
  const double wanted = share * static_cast<double>(total);
  double sum = 0;
  for (std::size_t level = 0; level < counts.size(); ++level) {
    sum += static_cast<double>(counts[level]);
    if (sum >= wanted && sum > 0) return static_cast<double>(level);
  }
  return static_cast<double>(counts.size() - 1);
}

// Levels without samples among levels with plenty of them on either side. Where a level in use has
// few samples, as at the edges of a distribution, an empty one may be chance.
double skipped_levels(const std::vector<std::int64_t>& counts, std::size_t neighbours) {
  std::vector<std::int64_t> rich = {0};  // sums up to each level
  std::vector<std::int64_t> poor = {0};
  for (const std::int64_t n : counts) {
    rich.push_back(rich.back() + (n >= kTellingSamples ? 1 : 0));
    poor.push_back(poor.back() + (n > 0 && n < kTellingSamples ? 1 : 0));
  }
  double judged = 0;
  double empty = 0;
  for (std::size_t level = 0; level < counts.size(); ++level) {
    const std::size_t from = level - std::min(level, neighbours);
    const std::size_t to = std::min(level + neighbours + 1, counts.size());
    const std::int64_t below = rich[level] - rich[from];
    const std::int64_t above = rich[to] - rich[level + 1];
    if (std::min(below, above) < kRichAround || poor[to] - poor[from] > below + above) continue;
    ++judged;
    empty += counts[level] == 0 ? 1 : 0;
  }
  return judged >= kFewestLevels ? empty / judged : 0;
}

template <class Get>
double most(const std::vector<Exposure::Channel>& channels, const Get& get) {
  double out = 0;
  for (const auto& channel : channels) out = std::max(out, get(channel));
  return out;
}

}  // namespace

LevelCounts::LevelCounts(const capture::CaptureInfo& info)
    : colour_(info.colour),
      cfa_(info.cfa),
      full_scale_(info.full_scale),
      channels_(info.colour == capture::Colour::rgb || info.colour == capture::Colour::cfa ? 3 : 1),
      slots_(kSlots) {
  const std::size_t values = info.sample_type == SampleType::u8 ? 256 : 65536;
  const int top = (1 << info.bits.used) - 1;
  for (std::size_t v = 0; v < values; ++v) {
    const double level = std::round(info.scale.to_light(static_cast<double>(v)) * top);
    level_of_.push_back(static_cast<std::uint16_t>(std::clamp(level, 0.0, double{1} * top)));
  }
  for (Slot& slot : slots_) {
    for (std::size_t c = 0; c < channels_; ++c)
      slot.counts[c].assign(static_cast<std::size_t>(top) + 1, 0);
  }
}

std::int64_t LevelCounts::add_stored(const std::vector<std::uint32_t>& stored, std::size_t channel,
                                     Slot& slot) const {
  std::int64_t full = 0;
  for (std::size_t value = 0; value < stored.size(); ++value) {
    slot.counts[channel][level_of_[value]] += stored[value];
    if (static_cast<double>(value) >= full_scale_) full += stored[value];
  }
  slot.saturated[channel] += full;
  return full;
}

template <class T>
std::int64_t LevelCounts::count(const capture::Frame& frame, Slot& slot) const {
  const bool mosaic = colour_ == capture::Colour::cfa;
  std::int64_t saturated = 0;
  // Stored values are counted first, even and odd ones apart: neighbours are often alike, and a
  // count that waits for the one before is slow.
  std::array<std::vector<std::uint32_t>, 2> stored;
  for (std::size_t p = 0; p < static_cast<std::size_t>(frame.plane_count); ++p) {
    const SampleView& plane = frame.planes[p];
    // Rows of a mosaic have other colours by turns.
    const int kinds = mosaic ? 2 : 1;
    for (int first = 0; first < kinds; ++first) {
      for (auto& counts : stored) counts.assign(level_of_.size(), 0);
      for (int y = first; y < plane.height_px; y += kinds) {
        const T* row = plane.row<T>(y);
        int x = 0;
        for (; x + 1 < plane.width_px; x += 2) {
          ++stored[0][row[x]];
          ++stored[1][row[x + 1]];
        }
        if (x < plane.width_px) ++stored[0][row[x]];
      }
      // Even and odd pixels of a mosaic's row have a colour each.
      for (int parity = 0; parity < 2; ++parity) {
        const std::size_t c =
            mosaic ? static_cast<std::size_t>(capture::cfa_colour_at(cfa_, parity, first)) : p;
        saturated += add_stored(stored[static_cast<std::size_t>(parity)], c, slot);
      }
    }
  }
  return saturated;
}

std::vector<std::int64_t> LevelCounts::add(const std::vector<const capture::Frame*>& frames) {
  std::vector<std::int64_t> saturated(frames.size(), 0);
  parallel_for(static_cast<std::int64_t>(kSlots), [&](std::int64_t s) {
    const auto slot = static_cast<std::size_t>(s);
    for (std::size_t i = slot; i < frames.size(); i += kSlots) {
      saturated[i] = frames[i]->planes[0].type == SampleType::u8
                         ? count<std::uint8_t>(*frames[i], slots_[slot])
                         : count<std::uint16_t>(*frames[i], slots_[slot]);
    }
  });
  return saturated;
}

std::vector<std::int64_t> LevelCounts::channel(std::size_t c) const {
  std::vector<std::int64_t> out(slots_[0].counts[c].size(), 0);
  for (const Slot& slot : slots_) {
    for (std::size_t level = 0; level < out.size(); ++level) out[level] += slot.counts[c][level];
  }
  return out;
}

std::int64_t LevelCounts::saturated(std::size_t c) const {
  std::int64_t sum = 0;
  for (const Slot& slot : slots_) sum += slot.saturated[c];
  return sum;
}

double Exposure::brightest() const {
  return most(channels, [](const Channel& c) { return c.brightest; });
}

double Exposure::saturated() const {
  return most(channels, [](const Channel& c) { return c.saturated; });
}

double Exposure::at_zero() const {
  return most(channels, [](const Channel& c) { return c.piled_at_zero ? c.at_zero : 0; });
}

double Exposure::skipped() const {
  return most(channels, [](const Channel& c) { return c.skipped; });
}

double Exposure::unused_share() const {
  double lowest = 1;
  for (const Channel& channel : channels) lowest = std::min(lowest, channel.lowest);
  return std::clamp(1 - (brightest() - lowest), 0.0, 1.0);
}

Exposure exposure_of(const LevelCounts& counts, double object_share) {
  Exposure out;
  for (std::size_t c = 0; c < counts.channels(); ++c) {
    out.counts.push_back(counts.channel(c));
    const auto& levels = out.counts.back();
    const auto total = std::accumulate(levels.begin(), levels.end(), std::int64_t{0});
    auto& channel = out.channels.emplace_back();
    if (total == 0) continue;
    const auto top = static_cast<double>(levels.size() - 1);
    channel.saturated = static_cast<double>(counts.saturated(c)) / static_cast<double>(total);
    channel.at_zero = static_cast<double>(levels[0]) / static_cast<double>(total);
    channel.piled_at_zero = levels[0] > levels[1];
    channel.lowest = level_below(levels, total, kTail) / top;
    channel.median = level_below(levels, total, 0.5) / top;
    channel.brightest = level_below(levels, total, 1 - kTail * object_share) / top;
    for (const std::size_t neighbours : kNeighbours)
      channel.skipped = std::max(channel.skipped, skipped_levels(levels, neighbours));
  }
  return out;
}

}  // namespace lull::health
