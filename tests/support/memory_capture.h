#pragma once

#include <set>
#include <vector>

#include "capture/capture.h"
#include "core/plane.h"
#include "support/frames.h"

namespace lull::test {

/// Info of a capture of a mono sensor.
capture::CaptureInfo mono_info(Size size, int true_bits);
capture::CaptureInfo mosaic_info(Size size, int true_bits, capture::Cfa cfa);
capture::CaptureInfo rgb_info(Size size, int true_bits);
/// The used bits at the high end of the word.
capture::CaptureInfo high_aligned(capture::CaptureInfo info);

/// A capture out of memory. 8-bit infos store bytes.
class MemoryCapture : public capture::Capture {
 public:
  MemoryCapture(capture::CaptureInfo info, std::vector<Samples> frames,
                std::set<FrameIndex> damaged = {});

  [[nodiscard]] const capture::CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<capture::Frame> next() override;

  void rewind() override;

  [[nodiscard]] Outcome<capture::Frame> at(FrameIndex index) override;

  [[nodiscard]] Tally tally() const override { return tally_; }

  std::vector<Samples>& frames() { return frames_; }

 private:
  [[nodiscard]] Outcome<capture::Frame> frame(FrameIndex index) const;

  capture::CaptureInfo info_;
  std::vector<Samples> frames_;
  std::set<FrameIndex> damaged_;
  FrameIndex next_ = 0;
  Tally tally_;
};

/// Frames of light as a mono capture of 8 bits.
[[nodiscard]] MemoryCapture capture_of(const std::vector<Plane>& frames);

}  // namespace lull::test
