#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::health {

/// Of full scale: what the brightest part of an object may reach, since seeing and thin cloud make
/// peaks vary (common practice, no source).
inline constexpr double kAimUnder = 0.9;

/// Counts of the samples of a capture by level, for each colour. Levels are those of the sensor's
/// true bits, 0 to 2^bits - 1. All sums are whole numbers, so their order does not matter.
class LevelCounts {
 public:
  explicit LevelCounts(const capture::CaptureInfo& info);

  /// Counts every sample of the frames; in parallel.
  /// @return for each frame how many samples are at full scale.
  std::vector<std::int64_t> add(const std::vector<const capture::Frame*>& frames);

  /// Counts of each level, for channel 0 .. channels() - 1.
  [[nodiscard]] std::vector<std::int64_t> channel(std::size_t c) const;

  [[nodiscard]] std::size_t channels() const { return channels_; }

  [[nodiscard]] std::int64_t saturated(std::size_t c) const;

 private:
  // One for each thread at most. Each slot has fixed frames, whichever thread counts them.
  static constexpr std::size_t kSlots = 8;

  struct Slot {
    std::array<std::vector<std::int64_t>, 3> counts;
    std::array<std::int64_t, 3> saturated{};
  };

  /// @return how many of the values are at full scale.
  std::int64_t add_stored(const std::vector<std::uint32_t>& stored, std::size_t channel,
                          Slot& slot) const;
  template <class T>
  std::int64_t count(const capture::Frame& frame, Slot& slot) const;

  capture::Colour colour_;
  capture::Cfa cfa_;
  double full_scale_;
  std::size_t channels_;
  std::vector<std::uint16_t> level_of_;  ///< of each stored value
  std::vector<Slot> slots_;
};

/// How the levels of the sensor were used.
struct Exposure {
  struct Channel {
    double saturated = 0;        ///< share of the samples at full scale
    double at_zero = 0;          ///< share of the samples at level 0
    double lowest = 0;           ///< level that 0.1% of the samples lie below, share of full scale
    double median = 0;           ///< median level
    double brightest = 0;        ///< level that 0.1% of the object's samples reach
    double skipped = 0;          ///< share of the levels in use that no sample has
    bool piled_at_zero = false;  ///< more samples at level 0 than at the next: clipped
  };

  std::vector<Channel> channels;
  double saturated_frames = 0;  ///< share of the frames that reach full scale somewhere
  std::vector<std::vector<std::int64_t>> counts;  ///< by channel and level

  [[nodiscard]] double brightest() const;     ///< of the brightest channel
  [[nodiscard]] double saturated() const;     ///< of the most saturated channel
  [[nodiscard]] double at_zero() const;       ///< of the channels that are clipped, the most
  [[nodiscard]] double skipped() const;       ///< the most
  [[nodiscard]] double unused_share() const;  ///< of the range, below and above, all channels
};

/// @param object_share part of the frame that the object covers, (0, 1].
[[nodiscard]] Exposure exposure_of(const LevelCounts& counts, double object_share);

}  // namespace lull::health
