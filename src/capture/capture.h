#pragma once

#include <cstddef>
#include <memory>
#include <string>
#include <vector>

#include "capture/capture_info.h"
#include "capture/frame.h"
#include "capture/open_options.h"
#include "core/outcome.h"

namespace lull::capture {

/// libav's names of the pixel formats that OpenOptions::pixel_format can be.
[[nodiscard]] std::vector<std::string> readable_pixel_formats();

/// Names and versions of the libraries that decode, on which the samples of a compressed capture
/// may depend.
[[nodiscard]] std::string decoder_version();

/// A capture opened for reading: file or numbered image sequence (a pattern such as
/// "moon_%04d.png"). Frames in order by next(), or by index through at(). One reader, one thread.
class Capture {
 public:
  /// @throws InputError: missing, not a video, no frame decodable, absurd dimensions.
  /// @throws UsageError: an option that makes no sense for this file (see OpenOptions::misfit).
  [[nodiscard]] static std::unique_ptr<Capture> open(const std::string& path,
                                                     const OpenOptions& options = {});

  virtual ~Capture() = default;

  [[nodiscard]] virtual const CaptureInfo& info() const = 0;

  /// The next frame in order: a frame, Reject::damaged for one that could not be decoded (index
  /// is spent), or Reject::past_the_end.
  [[nodiscard]] virtual Outcome<Frame> next() = 0;

  /// A frame of a block, or the reason why it is none.
  struct NextFrame {
    FrameIndex index = 0;
    Outcome<Frame> frame;
  };

  /// The same for the next 0 to `most` frames; none only at the end. What is done to each frame
  /// after it was read is done to several at a time.
  [[nodiscard]] virtual std::vector<NextFrame> next_frames(std::size_t most);

  /// Back to frame 0.
  virtual void rewind() = 0;

  /// Frame of that index, exact. Rising indices are cheap; others seek (intra-only) or decode
  /// again from the start. next() goes on after it.
  [[nodiscard]] virtual Outcome<Frame> at(FrameIndex index) = 0;

  /// Frames delivered by next() until now, and how many of them were damaged.
  struct Tally {
    FrameIndex frames = 0;
    FrameIndex damaged = 0;
  };

  [[nodiscard]] virtual Tally tally() const = 0;
};

}  // namespace lull::capture
