#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"

namespace lull::test {

/// Samples of one frame: planes one after the other, rows without padding.
using Samples = std::vector<std::uint16_t>;

/// Bytes of a frame, planes one after the other, without padding.
[[nodiscard]] Bytes bytes_in(const capture::Frame& frame);

/// 16-bit samples of a frame, planes one after the other.
[[nodiscard]] Samples samples_in(const capture::Frame& frame);

/// Where the frames are, as the estimators take several.
[[nodiscard]] std::vector<const capture::Frame*> pointers_to(
    const std::vector<capture::Frame>& frames);

/// Bytes of all frames in order; an empty entry is a damaged one.
[[nodiscard]] std::vector<Bytes> all_frames(capture::Capture& capture);

/// Message of the InputError that opening the file gives; empty if it opens.
[[nodiscard]] std::string refusal_of(const std::string& path);

/// value(x, y) for every pixel, rounded and clamped to 16 bits.
[[nodiscard]] Samples samples_of(Size size, const std::function<double(int x, int y)>& value);

/// A frame of one plane of 16-bit samples: value(x, y) for every pixel, rounded and clamped.
[[nodiscard]] capture::Frame frame_of(Size size, const std::function<double(int x, int y)>& value,
                                      FrameIndex index = 0);

/// A frame of a mosaic: value(x, y, channel) of the colour that each pixel has.
[[nodiscard]] capture::Frame mosaic_frame(
    Size size, capture::Cfa cfa, const std::function<double(int x, int y, int channel)>& value,
    FrameIndex index = 0);

}  // namespace lull::test
