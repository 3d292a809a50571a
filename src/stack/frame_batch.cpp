#include "stack/frame_batch.h"

#include <utility>

#include "core/parallel.h"

namespace lull::stack {

namespace {

constexpr std::size_t kMostFrames = 16;

std::size_t bytes_of_one(const capture::CaptureInfo& info) {
  return static_cast<std::size_t>(info.size.area_px()) *
         (has_colour(info) ? 24 : 12);  // float frames, luminance, box planes
}

std::size_t frames_for(const capture::CaptureInfo& info, std::size_t memory_bytes) {
  return std::clamp<std::size_t>(memory_bytes / std::max<std::size_t>(bytes_of_one(info), 1), 1,
                                 kMostFrames);
}

}  // namespace

std::size_t FrameBatch::most_bytes(const capture::CaptureInfo& info) {
  return kMostFrames * bytes_of_one(info);
}

FrameBatch::FrameBatch(capture::FrameStore& store, const survey::Survey& survey,
                       const Candidates& candidates, std::size_t memory_bytes)
    : store_(store),
      context_(store.info(), survey, candidates),
      frames_(frames_for(store.info(), memory_bytes)) {}

LoadedFrames FrameBatch::load(std::vector<std::size_t> positions) {
  const Candidates& candidates = context_.candidates;
  std::sort(positions.begin(), positions.end(), [&](std::size_t a, std::size_t b) {
    return candidates.at(a).index < candidates.at(b).index;
  });
  std::vector<std::pair<std::size_t, capture::Frame>> read;
  for (const std::size_t position : positions) {
    Outcome<capture::Frame> frame = store_.at(candidates.at(position).index);
    if (frame.ok()) read.emplace_back(position, std::move(frame).value());
  }
  std::sort(read.begin(), read.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  parallel_for(static_cast<std::int64_t>(read.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    frames_[i].assign(read[i].first, std::move(read[i].second), context_.info);
  });
  return {std::span(frames_).first(read.size()), context_};
}

LoadedFrames FrameBatch::load(std::size_t first, std::size_t count) {
  std::vector<std::size_t> positions(count);
  std::iota(positions.begin(), positions.end(), first);
  return load(std::move(positions));
}

}  // namespace lull::stack
