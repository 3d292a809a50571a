#pragma once

#include <array>

#include "align/padded_frame.h"
#include "capture/capture.h"
#include "stack/channel_samples.h"

namespace lull::stack {

/// The colours of one frame, ready to be warped: three planes, or the mosaic as it is.
class ColourFrame {
 public:
  /// Colours of a YUV frame become red, green and blue by the matrix of the capture, its colour
  /// differences interpolated linearly between the places where they were sampled.
  /// @param info  Colour::cfa, Colour::rgb or Colour::yuv.
  void assign(const capture::Frame& frame, const capture::CaptureInfo& info);

  [[nodiscard]] Size size() const { return planes_[0].size(); }

  [[nodiscard]] const align::PaddedFrame& plane(int channel) const {
    return planes_[cfa_ == capture::Cfa::none ? static_cast<std::size_t>(channel) : 0];
  }

  /// @param channel  0, 1, 2: red, green, blue.
  [[nodiscard]] ChannelSamples samples(int channel) const;

  /// Multiplies all colours of one pixel.
  void scale_at(int x, int y, float factor);

 private:
  [[nodiscard]] std::size_t plane_count() const {
    return cfa_ == capture::Cfa::none ? planes_.size() : 1;
  }

  void assign_yuv(const capture::Frame& frame, const capture::CaptureInfo& info);

  std::array<align::PaddedFrame, 3> planes_;  ///< of a mosaic only the first
  capture::Cfa cfa_ = capture::Cfa::none;
};

/// Is it stacked in colour?
[[nodiscard]] inline bool has_colour(const capture::CaptureInfo& info) {
  return info.colour == capture::Colour::cfa || info.colour == capture::Colour::rgb ||
         info.colour == capture::Colour::yuv;
}

}  // namespace lull::stack
