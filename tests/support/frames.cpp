#include "support/frames.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "core/error.h"
#include "support/text.h"

namespace lull::test {

Bytes bytes_in(const capture::Frame& frame) {
  Bytes bytes;
  std::vector<SampleView> planes(frame.planes.begin(), frame.planes.begin() + frame.plane_count);
  if (frame.chroma[0].data != nullptr)
    planes.insert(planes.end(), frame.chroma.begin(), frame.chroma.end());
  for (const SampleView& plane : planes) {
    const auto row_bytes =
        static_cast<std::ptrdiff_t>(plane.width_px) * (plane.type == SampleType::u8 ? 1 : 2);
    for (int y = 0; y < plane.height_px; ++y) {
      const std::byte* row = plane.data + y * plane.stride_bytes;
      bytes.insert(bytes.end(), row, row + row_bytes);
    }
  }
  return bytes;
}

std::vector<Bytes> all_frames(capture::Capture& capture) {
  std::vector<Bytes> frames;
  while (true) {
    auto outcome = capture.next();
    if (!outcome.ok() && outcome.reason() == Reject::past_the_end) return frames;
    frames.push_back(outcome.ok() ? bytes_in(outcome.value()) : Bytes{});
    if (outcome.ok()) CHECK(outcome.value().index == static_cast<FrameIndex>(frames.size()) - 1);
  }
}

Samples samples_of(Size size, const std::function<double(int x, int y)>& value) {
  Samples samples;
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      samples.push_back(
          static_cast<std::uint16_t>(std::lround(std::clamp(value(x, y), 0.0, 65535.0))));
    }
  }
  return samples;
}

Samples samples_in(const capture::Frame& frame) {
  Samples samples;
  for (std::size_t p = 0; p < static_cast<std::size_t>(frame.plane_count); ++p) {
    const SampleView& plane = frame.planes[p];
    for (int y = 0; y < plane.height_px; ++y) {
      const auto* row = plane.row<std::uint16_t>(y);
      samples.insert(samples.end(), row, row + plane.width_px);
    }
  }
  return samples;
}

std::string refusal_of(const std::string& path) {
  return message_of<InputError>([&] { static_cast<void>(capture::Capture::open(path)); });
}

capture::Frame frame_of(Size size, const std::function<double(int x, int y)>& value,
                        FrameIndex index) {
  auto samples = std::make_shared<Samples>(samples_of(size, value));
  capture::Frame frame;
  frame.index = index;
  frame.planes[0] = {reinterpret_cast<const std::byte*>(samples->data()), size.width_px,
                     size.height_px, std::ptrdiff_t{2} * size.width_px, SampleType::u16};
  frame.storage = samples;
  return frame;
}

std::vector<const capture::Frame*> pointers_to(const std::vector<capture::Frame>& frames) {
  std::vector<const capture::Frame*> pointers;
  pointers.reserve(frames.size());
  for (const capture::Frame& frame : frames) pointers.push_back(&frame);
  return pointers;
}

capture::Frame mosaic_frame(Size size, capture::Cfa cfa,
                            const std::function<double(int x, int y, int channel)>& value,
                            FrameIndex index) {
  return frame_of(
      size, [&](int x, int y) { return value(x, y, capture::cfa_colour_at(cfa, x, y)); }, index);
}

}  // namespace lull::test
