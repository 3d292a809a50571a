#include "calibrate/part_of_capture.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cstring>
#include <utility>

#include "core/error.h"

namespace lull::calibrate {

namespace {

using capture::Capture;
using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;

bool in_ranges(const FrameRanges& ranges, FrameIndex index) {
  return std::any_of(ranges.begin(), ranges.end(), [index](const FrameRange& range) {
    return range.first <= index && index <= range.last;
  });
}

void check_crop(const CaptureInfo& info, const Box& crop) {
  if (crop.x1 > info.size.width_px || crop.y1 > info.size.height_px) {
    throw UsageError(
        fmt::format("--crop {}: this reaches to {}, {}, and frames of {} have {} x {} px; give X + "
                    "W of at most "
                    "{} and Y + H of at most {}",
                    crop_text(crop), crop.x1, crop.y1, info.path, info.size.width_px,
                    info.size.height_px, info.size.width_px, info.size.height_px));
  }
  const int columns = info.colour == Colour::yuv ? info.chroma.columns : 1;
  const int rows = info.colour == Colour::yuv ? info.chroma.rows : 1;
  if (crop.x0 % columns != 0 || crop.y0 % rows != 0) {
    throw UsageError(fmt::format(
        "--crop {}: {} stores one colour for {} x {} px, so a crop begins at a multiple of these; "
        "the nearest is {}",
        crop_text(crop), info.path, columns, rows,
        crop_text(Box{crop.x0 - crop.x0 % columns, crop.y0 - crop.y0 % rows,
                      crop.x1 - crop.x0 % columns, crop.y1 - crop.y0 % rows})));
  }
}

void check_exists(Capture& source, const char* option, const FrameRanges& ranges) {
  if (ranges.empty()) return;
  const FrameIndex last = ranges.back().last;
  const auto frame = source.at(last);
  source.rewind();
  if (frame.ok() || frame.reason() != Reject::past_the_end) return;
  const std::int64_t promised = source.info().storage.header_frames;
  throw UsageError(fmt::format("{} {}: {} has no frame {}{}. Frames count from 0.", option,
                               ranges_text(ranges), source.info().path, last,
                               promised > 0 && promised <= last
                                   ? fmt::format("; its last is {}", promised - 1)
                                   : std::string()));
}

void check_any_left(Capture& source, const Part& part) {
  if (part.excluded.empty()) return;
  const FrameIndex end =
      1 + (part.frames.empty() ? part.excluded.back().last : part.frames.back().last);
  FrameIndex first = 0;
  while (first <= end && !part.holds(first)) ++first;
  bool left = first <= end;
  if (left && part.frames.empty()) {
    const auto frame = source.at(first);
    left = frame.ok() || frame.reason() != Reject::past_the_end;
    source.rewind();
  }
  if (left) return;
  throw UsageError(fmt::format("--exclude {}: this leaves no frame of {}",
                               ranges_text(part.excluded), source.info().path));
}

// Samples of a box, copied, so that those outside can be freed.
struct Copy {
  SampleView view;
  std::shared_ptr<const void> storage;
};

Copy copy_of(const SampleView& samples, const Box& box) {
  const std::size_t bytes = samples.type == SampleType::u8 ? 1 : 2;
  const std::size_t row_bytes = bytes * static_cast<std::size_t>(box.width_px());
  const auto memory = std::make_shared_for_overwrite<std::byte[]>(
      row_bytes * static_cast<std::size_t>(box.height_px()));
  for (int y = 0; y < box.height_px(); ++y) {
    std::memcpy(memory.get() + static_cast<std::size_t>(y) * row_bytes,
                samples.data + (y + box.y0) * samples.stride_bytes +
                    static_cast<std::ptrdiff_t>(bytes) * box.x0,
                row_bytes);
  }
  return {{memory.get(), box.width_px(), box.height_px(), static_cast<std::ptrdiff_t>(row_bytes),
           samples.type},
          memory};
}

Frame cropped(const Frame& frame, const Box& crop, const capture::Chroma& chroma) {
  Frame out = frame;
  auto storage = std::make_shared<std::vector<std::shared_ptr<const void>>>();
  const auto take = [&storage](const SampleView& samples, const Box& box) {
    Copy copy = copy_of(samples, box);
    storage->push_back(std::move(copy.storage));
    return copy.view;
  };
  for (int p = 0; p < frame.plane_count; ++p) {
    const auto i = static_cast<std::size_t>(p);
    out.planes[i] = take(frame.planes[i], crop);
  }
  for (std::size_t i = 0; i < frame.chroma.size(); ++i) {
    if (frame.chroma[i].data == nullptr) continue;
    const Size size = chroma.size_beside({crop.width_px(), crop.height_px()});
    const int x0 = crop.x0 / chroma.columns;
    const int y0 = crop.y0 / chroma.rows;
    out.chroma[i] = take(frame.chroma[i], {x0, y0, x0 + size.width_px, y0 + size.height_px});
  }
  if (frame.dead_rows) {
    const int below = frame.size().height_px - crop.y1;
    out.dead_rows = std::clamp(*frame.dead_rows - below, 0, crop.height_px());
  }
  out.storage = std::move(storage);
  return out;
}

class PartOfCapture final : public Capture {
 public:
  PartOfCapture(std::unique_ptr<Capture> source, Part part)
      : source_(std::move(source)), part_(std::move(part)), info_(source_->info()) {
    if (!part_.frames.empty() || !part_.excluded.empty()) choose_frames();
    if (!part_.crop) return;
    const Box& crop = *part_.crop;
    info_.size = {crop.width_px(), crop.height_px()};
    info_.cfa = capture::moved_cfa(info_.cfa, crop.x0, crop.y0);
    info_.notes.push_back(fmt::format("frames are cropped to {} x {} px from {}, {} on",
                                      crop.width_px(), crop.height_px(), crop.x0, crop.y0));
  }

  [[nodiscard]] const CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<Frame> next() override {
    const FrameIndex last = part_.frames.empty() ? -1 : part_.frames.back().last;
    FrameIndex index = tally_.frames;
    while (!part_.holds(index) && (last < 0 || index <= last)) ++index;
    if (last >= 0 && index > last) return Reject::past_the_end;
    auto frame = index == source_next_ ? source_->next() : source_->at(index);
    source_next_ = index + 1;
    if (!frame.ok() && frame.reason() == Reject::past_the_end) return frame;
    tally_.frames = index + 1;
    if (!frame.ok()) ++tally_.damaged;
    return apply(frame);
  }

  void rewind() override {
    source_->rewind();
    tally_ = {};
    source_next_ = 0;
  }

  [[nodiscard]] Outcome<Frame> at(FrameIndex index) override {
    source_next_ = index + 1;
    return apply(source_->at(index));
  }

  /// Frames: one more than the index of the last.
  [[nodiscard]] Tally tally() const override { return tally_; }

 private:
  // Of a capture of so many frames, 0 = not known, how many are used.
  [[nodiscard]] std::int64_t count_of(std::int64_t all) const {
    std::int64_t count = part_.frames.empty() ? all : 0;
    for (const FrameRange& range : part_.frames) count += range.last - range.first + 1;
    for (const FrameRange& range : part_.excluded) {
      for (FrameIndex i = range.first; i <= range.last && count > 0; ++i)
        count -= part_.frames.empty() || in_ranges(part_.frames, i) ? 1 : 0;
    }
    return count;
  }

  void choose_frames() {
    info_.storage.header_frames = count_of(info_.storage.header_frames);
    info_.storage.likely_frames = count_of(info_.storage.likely_frames);
    info_.notes.push_back(fmt::format(
        "{}{} are used",
        part_.frames.empty() ? "all frames" : "frames " + ranges_text(part_.frames),
        part_.excluded.empty() ? "" : fmt::format(" but {}", ranges_text(part_.excluded))));
  }

  [[nodiscard]] Outcome<Frame> apply(const Outcome<Frame>& frame) const {
    if (!frame.ok() || !part_.crop) return frame;
    return cropped(frame.value(), *part_.crop, info_.chroma);
  }

  std::unique_ptr<Capture> source_;
  Part part_;
  CaptureInfo info_;
  Tally tally_;
  FrameIndex source_next_ = 0;  ///< index of the frame that next() of the source gives
};

}  // namespace

FrameRanges joined(FrameRanges a, const FrameRanges& b) {
  a.insert(a.end(), b.begin(), b.end());
  std::sort(a.begin(), a.end(),
            [](const FrameRange& x, const FrameRange& y) { return x.first < y.first; });
  FrameRanges out;
  for (const FrameRange& range : a) {
    if (!out.empty() && range.first <= out.back().last + 1) {
      out.back().last = std::max(out.back().last, range.last);
    } else {
      out.push_back(range);
    }
  }
  return out;
}

std::string ranges_text(const FrameRanges& ranges) {
  std::vector<std::string> texts;
  for (const FrameRange& range : ranges) {
    texts.push_back(range.first == range.last ? fmt::format("{}", range.first)
                                              : fmt::format("{}-{}", range.first, range.last));
  }
  return fmt::format("{}", fmt::join(texts, ","));
}

std::string crop_text(const Box& crop) {
  return fmt::format("{},{},{},{}", crop.x0, crop.y0, crop.width_px(), crop.height_px());
}

bool Part::holds(FrameIndex index) const {
  return (frames.empty() || in_ranges(frames, index)) && !in_ranges(excluded, index);
}

void check_part(Capture& source, const Part& part) {
  if (part.crop) check_crop(source.info(), *part.crop);
  check_exists(source, "--frames", part.frames);
  check_exists(source, "--exclude", part.excluded);
  check_any_left(source, part);
}

std::unique_ptr<Capture> part_of(std::unique_ptr<Capture> source, const Part& part) {
  if (part.is_whole()) return source;
  return std::make_unique<PartOfCapture>(std::move(source), part);
}

}  // namespace lull::calibrate
