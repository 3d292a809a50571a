#pragma once

#include <memory>
#include <vector>

#include "calibrate/part_of_capture.h"
#include "capture/capture.h"
#include "core/turn.h"

namespace lull::calibrate {

/// Frames that are turned relative to the rest of their capture.
struct TurnedFrames {
  FrameRange frames;
  Turn turn = Turn::none;

  friend bool operator==(const TurnedFrames&, const TurnedFrames&) = default;
};

/// The same capture with these frames turned back. No sample changes its value. The colours of a
/// mosaic and of subsampled colour differences stay where they are in a frame, so frames with an
/// even number of columns move by one, and their first column takes that of its colour beside it;
/// rows alike. @param turned  by rising index.
[[nodiscard]] std::unique_ptr<capture::Capture> turned_back(
    std::unique_ptr<capture::Capture> source, std::vector<TurnedFrames> turned);

}  // namespace lull::calibrate
