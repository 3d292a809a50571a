#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <random>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::test {

/// Frame of 16-bit samples whose values a function gives.
inline capture::Frame frame_of(int width, int height, FrameIndex index,
                               const std::function<double(int x, int y)>& value) {
  auto samples = std::make_shared<std::vector<std::uint16_t>>();
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) samples->push_back(static_cast<std::uint16_t>(value(x, y)));
  }
  capture::Frame frame;
  frame.index = index;
  frame.planes[0] = {reinterpret_cast<const std::byte*>(samples->data()), width, height,
                     std::ptrdiff_t{2} * width, SampleType::u16};
  frame.storage = samples;
  return frame;
}

/// A mono or mosaic capture of `bits` bits at the low end of 16-bit words.
inline capture::CaptureInfo info_of(int width, int height, int bits) {
  capture::CaptureInfo info;
  info.size = {width, height};
  info.sample_type = SampleType::u16;
  info.bits.stored = 16;
  info.bits.used = bits;
  info.full_scale = (1 << bits) - 1;
  info.scale = {0, 1 / info.full_scale};
  return info;
}

inline std::vector<const capture::Frame*> pointers(const std::vector<capture::Frame>& frames) {
  std::vector<const capture::Frame*> out;
  out.reserve(frames.size());
  for (const auto& frame : frames) out.push_back(&frame);
  return out;
}

}  // namespace lull::test
