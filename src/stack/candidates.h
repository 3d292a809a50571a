#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <vector>

#include "quality/keep.h"
#include "survey/survey.h"

namespace lull::stack {

/// The frames of a capture that may go into its stack, best first, and medians over the best of
/// them. A frame's position is its place in this order, from 0. Usable frames that are not
/// candidates follow.
class Candidates {
 public:
  /// @param survey  outlives this. @param path  of the capture, for the message.
  /// @throws NothingUsable when fewer than two frames can be used.
  Candidates(const survey::Survey& survey, const quality::Keep& keep, const std::string& path);

  [[nodiscard]] std::size_t count() const { return count_; }

  /// Frames by which the reference is freed of distortion: more hardly change their mean field.
  static constexpr std::size_t kMostEvenly = 160;

  /// Frames of a reference, the first and the refined ones.
  static constexpr std::size_t kMostReference = 60;

  /// At most so many positions of usable frames, candidates or not, evenly over the capture in
  /// time, rising: the order of sums, for any batches.
  [[nodiscard]] std::vector<std::size_t> evenly(std::size_t most) const;

  [[nodiscard]] const quality::FrameRecord& at(std::size_t position) const {
    return survey_.records[order_[position]];
  }

  /// Is the number of frames to be found out?
  [[nodiscard]] bool automatic() const { return automatic_; }

  /// Frames of the first reference, and of the refined ones.
  [[nodiscard]] std::size_t first_count() const { return first_count_; }

  [[nodiscard]] std::size_t refined_count() const { return refined_count_; }

  /// Offset of the reference: the median offset of the frames of the first reference.
  [[nodiscard]] const FrameOffset& origin() const { return origin_; }

  /// Medians over the frames of the first reference.
  [[nodiscard]] double median_sharpness() const { return median_sharpness_; }

  [[nodiscard]] double median_noise() const { return median_noise_; }

  /// Of all frames that are read again: the candidates and evenly(kMostEvenly).
  [[nodiscard]] std::set<FrameIndex> indices() const;

  /// Of the frames of the reference, which are read again up to twelve times.
  [[nodiscard]] std::set<FrameIndex> reference_indices() const;

  /// Numbers of frames at which nested stacks are judged, rising.
  [[nodiscard]] std::vector<std::size_t> checkpoints() const;

  /// What at least half of the best `count` frames cover of the reference, axis by axis, less what
  /// half of them turn away from its edges.
  [[nodiscard]] Box covered(std::size_t count, Size reference) const;

 private:
  void choose(const quality::Keep& keep);
  template <class Value>
  [[nodiscard]] double median_of_first(Value value) const;

  const survey::Survey& survey_;
  std::vector<std::size_t> order_;  ///< places in survey_.records: candidates, then the other
                                    ///< usable frames
  std::size_t count_ = 0;
  bool automatic_ = false;
  std::size_t first_count_ = 0;
  std::size_t refined_count_ = 0;
  FrameOffset origin_;
  double median_sharpness_ = 1;
  double median_noise_ = 0;
};

}  // namespace lull::stack
