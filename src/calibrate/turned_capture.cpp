#include "calibrate/turned_capture.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

namespace lull::calibrate {

namespace {

using capture::Capture;
using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;

// From where a column or row of a turned frame comes: sum - i, or i itself.
struct Axis {
  int length = 0;
  int sum = 0;   ///< of an index and the one that it changes places with
  int step = 1;  ///< to the next of its colour, for those beyond the end
  bool swaps = false;

  [[nodiscard]] int source_of(int i) const {
    if (!swaps) return i;
    int from = sum - i;
    while (from >= length) from -= step;
    return std::max(from, 0);
  }
};

// The smallest sum by which samples of a kind, `step` apart from `first` on, change places with
// others of their kind.
int sum_of(int length, int step, double first) {
  const auto twice = static_cast<int>(std::lround(2 * first));
  int sum = length - 1;
  while ((sum - twice) % step != 0) ++sum;
  return sum;
}

// Columns, or rows, of the planes of light and of colour differences.
struct Axes {
  Axis light;
  Axis chroma;
};

Axes axes_of(int length, bool swaps, bool mosaic, int chroma_step, double chroma_first) {
  const int step = mosaic ? 2 : 1;
  Axes out;
  out.light = {length, 0, step, swaps};
  out.light.sum = mosaic ? sum_of(length, 2, 0) : sum_of(length, chroma_step, chroma_first);
  const auto twice = static_cast<int>(std::lround(2 * chroma_first));
  out.chroma = {(length + chroma_step - 1) / chroma_step,
                (out.light.sum - twice) / std::max(chroma_step, 1), 1, swaps};
  return out;
}

template <class T>
void turn_samples(const SampleView& from, const Axis& columns, const Axis& rows, std::byte* to) {
  auto* out = reinterpret_cast<T*>(to);
  for (int y = 0; y < from.height_px; ++y) {
    const T* row = from.template row<T>(rows.source_of(y));
    for (int x = 0; x < from.width_px; ++x) *out++ = row[columns.source_of(x)];
  }
}

class TurnedCapture final : public Capture {
 public:
  TurnedCapture(std::unique_ptr<Capture> source, std::vector<TurnedFrames> turned)
      : source_(std::move(source)), turned_(std::move(turned)), info_(source_->info()) {}

  [[nodiscard]] const CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<Frame> next() override { return apply(source_->next()); }

  void rewind() override { source_->rewind(); }

  [[nodiscard]] Outcome<Frame> at(FrameIndex index) override { return apply(source_->at(index)); }

  [[nodiscard]] Tally tally() const override { return source_->tally(); }

 private:
  [[nodiscard]] Turn turn_of(FrameIndex index) const {
    for (const TurnedFrames& range : turned_)
      if (range.frames.first <= index && index <= range.frames.last) return range.turn;
    return Turn::none;
  }

  [[nodiscard]] Outcome<Frame> apply(const Outcome<Frame>& frame) const {
    if (!frame.ok()) return frame;
    const Turn turn = turn_of(frame.value().index);
    return turn == Turn::none ? frame : turned(frame.value(), turn);
  }

  [[nodiscard]] Frame turned(const Frame& frame, Turn turn) const {
    const bool mosaic = info_.colour == Colour::cfa;
    const bool differences = info_.colour == Colour::yuv;
    const capture::Chroma chroma = differences ? info_.chroma : capture::Chroma{};
    const Size size = frame.size();
    const Axes columns =
        axes_of(size.width_px, swaps_columns(turn), mosaic, chroma.columns, chroma.first_x_px);
    const Axes rows =
        axes_of(size.height_px, swaps_rows(turn), mosaic, chroma.rows, chroma.first_y_px);
    Frame out = frame;
    // A transfer that stopped shows at the lower edge as recorded.
    if (!out.dead_rows) out.dead_rows = capture::dead_rows(frame.planes[0]);
    const auto memory = std::make_shared_for_overwrite<std::byte[]>(frame_bytes(frame));
    std::byte* free = memory.get();
    for (std::size_t p = 0; p < static_cast<std::size_t>(frame.plane_count); ++p)
      out.planes[p] = turned(frame.planes[p], columns.light, rows.light, free);
    if (differences) {
      for (std::size_t p = 0; p < frame.chroma.size(); ++p)
        out.chroma[p] = turned(frame.chroma[p], columns.chroma, rows.chroma, free);
    }
    out.storage = memory;
    return out;
  }

  static std::size_t sample_bytes(const SampleView& samples) {
    return samples.type == SampleType::u8 ? 1 : 2;
  }

  static std::size_t plane_bytes(const SampleView& plane) {
    return sample_bytes(plane) * static_cast<std::size_t>(plane.size().area_px());
  }

  static std::size_t frame_bytes(const Frame& frame) {
    std::size_t bytes = 0;
    for (std::size_t p = 0; p < static_cast<std::size_t>(frame.plane_count); ++p)
      bytes += plane_bytes(frame.planes[p]);
    for (const SampleView& plane : frame.chroma) bytes += plane_bytes(plane);
    return bytes;
  }

  // Writes to `free`, and moves it on.
  static SampleView turned(const SampleView& from, const Axis& columns, const Axis& rows,
                           std::byte*& free) {
    SampleView out = from;
    out.data = free;
    out.stride_bytes = static_cast<std::ptrdiff_t>(sample_bytes(from)) * from.width_px;
    if (from.type == SampleType::u8) {
      turn_samples<std::uint8_t>(from, columns, rows, free);
    } else {
      turn_samples<std::uint16_t>(from, columns, rows, free);
    }
    free += plane_bytes(from);
    return out;
  }

  std::unique_ptr<Capture> source_;
  std::vector<TurnedFrames> turned_;
  CaptureInfo info_;
};

}  // namespace

std::unique_ptr<Capture> turned_back(std::unique_ptr<Capture> source,
                                     std::vector<TurnedFrames> turned) {
  if (turned.empty()) return source;
  return std::make_unique<TurnedCapture>(std::move(source), std::move(turned));
}

}  // namespace lull::calibrate
