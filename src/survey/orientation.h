#pragma once

#include <array>
#include <string>
#include <vector>

#include "calibrate/part_of_capture.h"
#include "calibrate/turned_capture.h"
#include "core/turn.h"

namespace lull::survey {

/// How well one frame matches the tracker's reference in each of the four turns: height of the
/// correlation's peak over its rms, by Turn.
struct TurnTest {
  FrameIndex index = 0;
  std::array<double, kTurns> peaks{};
};

/// The turn that matches best.
[[nodiscard]] Turn best_turn(const std::array<double, kTurns>& peaks);

/// How the frames of a capture are turned relative to each other.
struct Orientation {
  std::vector<calibrate::TurnedFrames> turned;  ///< relative to the first
  calibrate::FrameRanges doubtful;  ///< between the last before a change and the first after it

  [[nodiscard]] bool changes() const { return !turned.empty(); }
};

/// "frames 500-999 are turned by 180 degrees relative to the first frames". Empty where none is
/// turned.
[[nodiscard]] std::string text_of(const Orientation& orientation);

/// The most likely sequence of turns, by dynamic programming (Viterbi 1967): each test votes with
/// its peaks, and each change costs as much as several clear votes. A change counts only if it is
/// sudden: a field that rotates slowly, or an object that looks the same both ways, changes
/// nothing.
/// @param tests  of a part of the frames, by rising index. @param last  index of the last frame.
[[nodiscard]] Orientation orientation_of(const std::vector<TurnTest>& tests, FrameIndex last);

}  // namespace lull::survey
