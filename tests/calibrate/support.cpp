#include "calibrate/support.h"

#include <algorithm>
#include <cmath>

namespace lull::test {

using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;

CaptureInfo mono_info(Size size, int true_bits) {
  CaptureInfo info;
  info.path = "lights";
  info.size = size;
  info.true_bits = true_bits;
  info.stored_bits = true_bits == 8 ? 8 : 16;
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
  info.high_aligned = true;
  info.full_scale *= std::pow(2.0, 16 - info.true_bits);
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

calibrate::Master master_of(const CaptureInfo& info, const Samples& samples, std::int64_t frames) {
  MemoryCapture capture(info, {samples});
  calibrate::Master master = calibrate::average(capture);
  master.frames = frames;
  return master;
}

Samples calibrate_one(const calibrate::Calibration& calibration, const CaptureInfo& info,
                      const Samples& samples) {
  MemoryCapture capture(info, {samples});
  return samples_in(calibration.apply(capture.next().value()));
}

Samples samples_in(const Frame& frame) {
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

bool notes_say(const std::vector<std::string>& notes, const std::string& words) {
  return std::ranges::any_of(
      notes, [&](const std::string& note) { return note.find(words) != std::string::npos; });
}

}  // namespace lull::test
