#pragma once

#include <cstddef>
#include <vector>

#include "align/field_estimator.h"
#include "capture/capture.h"
#include "quality/luminance.h"
#include "quality/measure.h"
#include "stack/colour_frame.h"

namespace lull::stack {

/// One of the frames that a stage has in memory. The steps of a FrameBatch fill it in.
struct FrameAtWork {
  /// Memory for one thread, reused from frame to frame.
  struct Workspace {
    quality::LuminanceBuffer luminance;
    quality::MeasureWorkspace measure;
    align::FieldEstimator::Workspace field;
  };

  std::size_t position = 0;      ///< see Candidates
  capture::Frame source;         ///< as it was read
  quality::Luminance stored;     ///< points into the source or the workspace
  align::PaddedFrame luminance;  ///< linear, 1.0 = full scale; repaired in place
  ColourFrame colours;           ///< of captures in colour; repaired in place
  align::FieldEstimate estimate;
  std::vector<float> weights;  ///< on the nodes of the field
  Workspace workspace;

  /// Takes in a frame that was just read.
  void assign(std::size_t frame_position, capture::Frame frame, const capture::CaptureInfo& info);

  /// Measures the frame as it was read, in units of the luminance.
  [[nodiscard]] quality::CellMeasure measure(quality::Metric metric);
};

}  // namespace lull::stack
