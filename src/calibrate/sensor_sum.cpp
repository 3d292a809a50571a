#include "calibrate/sensor_sum.h"

#include <algorithm>
#include <utility>

#include "core/parallel.h"

namespace lull::calibrate {

namespace {

constexpr std::int64_t kMostFrames = 48;

template <class T>
void add_row(const T* in, int width_px, float* sum) {
  for (int x = 0; x < width_px; ++x) sum[x] += static_cast<float>(in[x]);
}

void add_samples(const SampleView& samples, Plane& sum) {
  parallel_for(sum.height(), [&](std::int64_t row) {
    const auto y = static_cast<int>(row);
    if (samples.type == SampleType::u8) {
      add_row(samples.row<std::uint8_t>(y), sum.width(), sum.row(y));
    } else {
      add_row(samples.row<std::uint16_t>(y), sum.width(), sum.row(y));
    }
  });
}

std::vector<Plane> empty_planes(const capture::CaptureInfo& info) {
  const std::size_t count = info.colour == capture::Colour::rgb ? 3 : 1;
  std::vector<Plane> planes;
  planes.reserve(count);
  while (planes.size() < count) planes.emplace_back(info.size);
  return planes;
}

}  // namespace

std::vector<Plane> SensorSum::mean() && {
  LULL_ASSERT(all_frames() > 0);
  const auto factor = 1 / static_cast<float>(all_frames());
  for (std::size_t p = 0; p < halves[0].size(); ++p) {
    add(halves[0][p].view(), std::as_const(halves[1][p]).view());
    scale(halves[0][p].view(), factor);
  }
  halves[1].clear();
  return std::move(halves[0]);
}

SensorSum sensor_sum(capture::Capture& capture, const Progress& progress) {
  SensorSum sum;
  for (auto& half : sum.halves) half = empty_planes(capture.info());
  const std::int64_t length = capture.info().storage.header_frames;
  const bool spread = capture.info().storage.intra_only && length > kMostFrames;
  const std::int64_t expected = length > 0 ? std::min(length, kMostFrames) : kMostFrames;
  for (std::int64_t i = 0; i < kMostFrames; ++i) {
    progress.step("measuring the sensor", i, kMostFrames);
    const auto frame = spread ? capture.at(i * length / kMostFrames) : capture.next();
    if (!frame.ok() && frame.reason() == Reject::past_the_end) break;
    if (!frame.ok()) continue;
    const std::size_t half = 2 * i < expected ? 0 : 1;
    for (std::size_t p = 0; p < sum.halves[half].size(); ++p)
      add_samples(frame.value().planes[p], sum.halves[half][p]);
    ++sum.frames[half];
  }
  capture.rewind();
  return sum;
}

}  // namespace lull::calibrate
