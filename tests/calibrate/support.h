#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <random>
#include <set>
#include <string>
#include <vector>

#include "calibrate/calibration.h"
#include "capture/capture.h"

namespace lull::test {

/// Samples of one frame: planes one after the other, rows without padding.
using Samples = std::vector<std::uint16_t>;

/// What a capture of a sensor would say of itself.
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

/// value(x, y) for every pixel, rounded and clamped to 16 bits.
Samples samples_of(Size size, const std::function<double(int x, int y)>& value);

/// A master of exactly these samples, as if averaged from that many frames.
calibrate::Master master_of(const capture::CaptureInfo& info, const Samples& samples,
                            std::int64_t frames = 100);

/// The calibrated samples of one frame, planes one after the other.
Samples calibrate_one(const calibrate::Calibration& calibration, const capture::CaptureInfo& info,
                      const Samples& samples);

Samples samples_in(const capture::Frame& frame);

/// Whether one of the notes contains the words.
bool notes_say(const std::vector<std::string>& notes, const std::string& words);

}  // namespace lull::test
