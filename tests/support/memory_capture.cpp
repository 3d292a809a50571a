#include "support/memory_capture.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <utility>

namespace lull::test {

using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;

CaptureInfo mono_info(Size size, int true_bits) {
  CaptureInfo info;
  info.path = "lights";
  info.size = size;
  info.bits.used = true_bits;
  info.bits.stored = true_bits == 8 ? 8 : 16;
  info.sample_type = true_bits == 8 ? SampleType::u8 : SampleType::u16;
  info.full_scale = std::pow(2.0, true_bits) - 1;
  info.scale = {0.0, 1.0 / info.full_scale};
  return info;
}

CaptureInfo mosaic_info(Size size, int true_bits, capture::Cfa cfa) {
  CaptureInfo info = mono_info(size, true_bits);
  info.colour = Colour::cfa;
  info.cfa = cfa;
  return info;
}

CaptureInfo rgb_info(Size size, int true_bits) {
  CaptureInfo info = mono_info(size, true_bits);
  info.colour = Colour::rgb;
  return info;
}

CaptureInfo high_aligned(CaptureInfo info) {
  info.bits.high_aligned = true;
  info.full_scale *= std::pow(2.0, 16 - info.bits.used);
  info.scale.per_unit = 1.0 / info.full_scale;
  return info;
}

MemoryCapture::MemoryCapture(CaptureInfo info, std::vector<Samples> frames,
                             std::set<FrameIndex> damaged)
    : info_(std::move(info)), frames_(std::move(frames)), damaged_(std::move(damaged)) {}

Outcome<Frame> MemoryCapture::next() {
  auto outcome = frame(next_);
  if (next_ < static_cast<FrameIndex>(frames_.size())) {
    ++tally_.frames;
    tally_.damaged += outcome.ok() ? 0 : 1;
    ++next_;
  }
  return outcome;
}

void MemoryCapture::rewind() {
  next_ = 0;
  tally_ = {};
}

Outcome<Frame> MemoryCapture::at(FrameIndex index) {
  next_ = index + 1;
  return frame(index);
}

Outcome<Frame> MemoryCapture::frame(FrameIndex index) const {
  if (index < 0 || index >= static_cast<FrameIndex>(frames_.size())) return Reject::past_the_end;
  if (damaged_.contains(index)) return Reject::damaged;
  const Samples& samples = frames_[static_cast<std::size_t>(index)];
  Frame frame;
  frame.index = index;
  frame.time_s = 0.01 * static_cast<double>(index);
  frame.plane_count = info_.colour == Colour::rgb ? 3 : 1;
  const bool narrow = info_.sample_type == SampleType::u8;
  // Rows of an odd pitch, as a decoder may give them.
  const std::ptrdiff_t width = info_.size.width_px;
  const std::ptrdiff_t stride = (width + 6) * (narrow ? 1 : 2);
  const auto rows = static_cast<std::ptrdiff_t>(info_.size.height_px) * frame.plane_count;
  auto bytes =
      std::make_shared<std::vector<std::uint16_t>>(static_cast<std::size_t>(stride * rows / 2 + 1));
  auto* base = reinterpret_cast<std::byte*>(bytes->data());
  for (std::ptrdiff_t y = 0; y < rows; ++y) {
    const auto* in = samples.data() + y * width;
    if (narrow) {
      std::transform(in, in + width, base + y * stride,
                     [](std::uint16_t v) { return static_cast<std::byte>(v); });
    } else {
      std::copy_n(in, width, reinterpret_cast<std::uint16_t*>(base + y * stride));
    }
  }
  for (int p = 0; p < frame.plane_count; ++p) {
    frame.planes[static_cast<std::size_t>(p)] = {
        base + static_cast<std::ptrdiff_t>(p) * info_.size.height_px * stride, info_.size.width_px,
        info_.size.height_px, stride, info_.sample_type};
  }
  frame.storage = bytes;
  return frame;
}

MemoryCapture capture_of(const std::vector<Plane>& frames) {
  const Size size = frames.front().size();
  std::vector<Samples> samples;
  samples.reserve(frames.size());
  for (const Plane& frame : frames) {
    samples.push_back(samples_of(size, [&frame](int x, int y) {
      return 255.0 * std::clamp(static_cast<double>(frame.row(y)[x]), 0.0, 1.0);
    }));
  }
  return MemoryCapture(mono_info(size, 8), std::move(samples));
}

}  // namespace lull::test
