#pragma once

#include <array>

#include "quality/altered_frame.h"
#include "quality/measure.h"
#include "quality/ranking.h"

namespace lull::quality {

/// What all frames of a capture have in common, from its survey.
struct TrialSetting {
  capture::CaptureInfo info;
  Target target;      ///< levels in light
  int reduction = 2;  ///< object brightness is that of frames reduced by 2, 4, 8 ...
};

/// Scores of one frame by one measure (see frame_sharpness), as it is and as it might be.
struct TrialScores {
  double as_recorded = 0;
  double dimmed = 0;   ///< its light above the sky times kTrialDimming
  double noisier = 0;  ///< noise of as much again as measured added
  /// From every other cell, as the colours of a chessboard. Measures reach over the borders of
  /// cells, so the frame is first split into two of independent noise. To one, noise as strong as
  /// measured is added; from the other, the same noise is subtracted (noise n + z and n - z;
  /// Rasines & Young 2023, Biometrika 110, 597).
  std::array<double, 2> halves = {};
};

inline constexpr double kTrialDimming = 0.8;

/// One for each of kMetrics, in their order.
using Trial = std::array<TrialScores, kMetrics.size()>;

/// Memory for one thread.
struct TrialWorkspace {
  LuminanceBuffer luminance;
  MeasureWorkspace measure;
  Plane reduced;
  std::vector<float> scratch;
};

/// Scores a frame by every measure. @param record of the frame, from the survey.
/// Safe to call in parallel with distinct workspaces. O(pixels).
[[nodiscard]] Trial try_measures(const capture::Frame& frame, const FrameRecord& record,
                                 const TrialSetting& setting, TrialWorkspace& workspace);

}  // namespace lull::quality
