#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"

namespace lull::calibrate {

/// Frames from `first` to `last`, both among them.
struct FrameRange {
  FrameIndex first = 0;
  FrameIndex last = 0;

  friend bool operator==(const FrameRange&, const FrameRange&) = default;
};

/// Ranges by rising index, none of which meets another.
using FrameRanges = std::vector<FrameRange>;

/// All frames of both.
[[nodiscard]] FrameRanges joined(FrameRanges a, const FrameRanges& b);

/// As the command line takes them: "12,40-60"; empty for none.
[[nodiscard]] std::string ranges_text(const FrameRanges& ranges);

/// "X,Y,W,H", likewise.
[[nodiscard]] std::string crop_text(const Box& crop);

/// The part of a capture that is used.
struct Part {
  std::optional<Box> crop;  ///< px of a frame, upright
  FrameRanges frames;       ///< empty: all
  FrameRanges excluded;     ///< of these

  [[nodiscard]] bool is_whole() const { return !crop && frames.empty() && excluded.empty(); }

  [[nodiscard]] bool holds(FrameIndex index) const;
};

/// Whether the capture has these frames and this area, before any work. The last frame that is
/// named is looked up in the file, since headers may promise too much. Leaves it at frame 0.
/// @throws UsageError that names the option.
void check_part(capture::Capture& source, const Part& part);

/// That part of a capture. Frames keep their indices; others are passed over. The colours of a
/// mosaic move with the first pixel of the crop. @param part  of `source`, by check_part().
[[nodiscard]] std::unique_ptr<capture::Capture> part_of(std::unique_ptr<capture::Capture> source,
                                                        const Part& part);

}  // namespace lull::calibrate
