#include "stack/frame_batch.h"

#include <algorithm>
#include <future>
#include <numeric>
#include <span>
#include <utility>

#include "core/beside.h"
#include "core/cancel.h"
#include "core/parallel.h"

namespace lull::stack {

namespace {

constexpr std::size_t kMostFrames = 16;

std::size_t bytes_of_one(const capture::CaptureInfo& info) {
  return static_cast<std::size_t>(info.size.area_px()) *
         (has_colour(info) ? 30 : 14);  // float frames, luminance, box planes, the next as read
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

std::vector<std::size_t> FrameBatch::range(std::size_t first, std::size_t last) {
  std::vector<std::size_t> positions(last - first);
  std::iota(positions.begin(), positions.end(), first);
  return positions;
}

FrameBatch::Read FrameBatch::read(std::vector<std::size_t> positions) {
  const Candidates& candidates = context_.candidates;
  std::sort(positions.begin(), positions.end(), [&](std::size_t a, std::size_t b) {
    return candidates.at(a).index < candidates.at(b).index;
  });
  Read found;
  for (const std::size_t position : positions) {
    stop_if_cancelled();
    Outcome<capture::Frame> frame = store_.at(candidates.at(position).index);
    if (frame.ok()) found.emplace_back(position, std::move(frame).value());
  }
  std::sort(found.begin(), found.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  return found;
}

LoadedFrames FrameBatch::take(Read&& read) {
  parallel_for(static_cast<std::int64_t>(read.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    frames_[i].assign(read[i].first, std::move(read[i].second), context_.info);
  });
  return {std::span(frames_).first(read.size()), context_};
}

LoadedFrames FrameBatch::load(std::vector<std::size_t> positions) {
  return take(read(std::move(positions)));
}

void FrameBatch::load_each(const std::vector<std::size_t>& positions, const Stage& stage,
                           const Progress& progress, const Body& body) {
  const auto reading_from = [&](std::size_t first) {
    const auto at = [&](std::size_t i) {
      return positions.begin() + static_cast<std::ptrdiff_t>(std::min(i, positions.size()));
    };
    return run_beside([this, batch = std::vector<std::size_t>(
                                 at(first), at(first + frames_.size()))] { return read(batch); });
  };
  const auto total = static_cast<std::int64_t>(stage.total);
  std::future<Read> coming = reading_from(0);
  for (std::size_t first = 0; first < positions.size(); first += frames_.size()) {
    progress.step(stage.name, static_cast<std::int64_t>(stage.before + first), total);
    Read read = coming.get();
    if (first + frames_.size() < positions.size()) coming = reading_from(first + frames_.size());
    body(take(std::move(read)));
  }
  progress.step(stage.name, static_cast<std::int64_t>(stage.before + positions.size()), total);
}

}  // namespace lull::stack
