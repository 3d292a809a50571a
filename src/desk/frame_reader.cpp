#include "desk/frame_reader.h"

#include <fmt/format.h>

#include <algorithm>

#include "desk/frame_picture.h"
#include "run/opening.h"
#include "survey/observer.h"

namespace lull::desk {

namespace {

constexpr int kFewFrames = 5;  // of which the sharpest stands for the capture

std::unique_ptr<capture::FrameStore> open_frames(const std::string& path,
                                                 const run::Resources& resources) {
  run::CaptureInput input;
  input.captures = {path};
  return run::open_recorded(input, {Progress(), resources});
}

// Without noise taken off: it is nearly the same in frames of one capture.
std::size_t sharpest(const std::vector<capture::Frame>& frames, const capture::CaptureInfo& info) {
  try {
    survey::Observer observer(info, frames, std::nullopt);
    std::vector<survey::Observation> seen;
    observer.observe(frames, seen);
    std::size_t best = 0;
    double highest = -1;
    for (std::size_t i = 0; i < seen.size(); ++i) {
      const double sharpness = observer.sharpness(seen[i]);
      if (sharpness > highest) best = i;
      highest = std::max(highest, sharpness);
    }
    return best;
  } catch (const NothingUsable&) {  // frames too small to be ranked can still be looked at
    return 0;
  }
}

}  // namespace

OpenedCapture::OpenedCapture(const ListedCapture& capture, const run::Resources& resources)
    : found_(capture.found),
      likely_frames_(capture.frames()),
      frames_(open_frames(capture.found.path, resources)) {}

capture::Frame OpenedCapture::frame_unlocked(FrameIndex index) {
  auto frame = frames_->at(index);
  if (frame.ok()) return std::move(frame).value();
  if (frame.reason() == Reject::past_the_end)
    throw Problem(404, fmt::format("{} has no frame {}", found_.name, index));
  throw Problem(422, fmt::format("frame {} of {} is damaged", index, found_.name),
                "choose another frame");
}

capture::Frame OpenedCapture::frame(FrameIndex index) {
  const std::scoped_lock lock(guard_);
  return frame_unlocked(index);
}

std::vector<capture::Frame> OpenedCapture::some_frames() {
  const bool cheap = info().storage.intra_only && likely_frames_ > kFewFrames;
  std::vector<capture::Frame> frames;
  for (int i = 0; i < kFewFrames; ++i) {
    const FrameIndex index = cheap ? (2 * i + 1) * likely_frames_ / (2 * kFewFrames) : i;
    auto frame = frames_->at(index);
    if (frame.ok()) frames.push_back(std::move(frame).value());
  }
  // A header may promise too much.
  if (frames.empty()) frames.push_back(frame_unlocked(0));
  return frames;
}

void OpenedCapture::look_at_some() {
  if (good_) return;
  const std::vector<capture::Frame> frames = some_frames();
  const capture::Frame& good = frames[sharpest(frames, info())];
  const Size size = good.size();
  levels_ = finish::levels_of(
      light_of(good, info(), {0, 0, size.width_px, size.height_px}).view().channels);
  good_ = good.index;
}

FrameIndex OpenedCapture::good_frame() {
  const std::scoped_lock lock(guard_);
  look_at_some();
  return *good_;
}

const finish::Levels& OpenedCapture::levels() {
  const std::scoped_lock lock(guard_);
  look_at_some();
  return levels_;
}

std::shared_ptr<OpenedCapture> FrameReader::open(const ListedCapture& capture) {
  {
    const std::scoped_lock lock(guard_);
    const auto known = std::find_if(open_.begin(), open_.end(),
                                    [&](const auto& one) { return one->found() == capture.found; });
    if (known != open_.end()) {
      open_.splice(open_.begin(), open_, known);
      return open_.front();
    }
  }
  auto opened = std::make_shared<OpenedCapture>(capture, resources_);
  const std::scoped_lock lock(guard_);
  open_.remove_if([&](const auto& one) { return one->found().id == capture.found.id; });
  open_.push_front(opened);
  if (open_.size() > kMostOpen) open_.pop_back();
  return opened;
}

}  // namespace lull::desk
