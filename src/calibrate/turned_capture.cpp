#include "calibrate/turned_capture.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "calibrate/changed_capture.h"

namespace lull::calibrate {

namespace {

using capture::Capture;
using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;

// From where each column, or row, of a turned frame comes.
using Sources = std::vector<int>;

// Samples of a kind lie `step` apart from `first` on; in reverse they keep to such places. The sum
// of two that change places is the smallest for which this holds.
int sum_of_places(int length, int step, double first) {
  const auto twice = static_cast<int>(std::lround(2 * first));
  int sum = length - 1;
  while ((sum - twice) % step != 0) ++sum;
  return sum;
}

// Beyond the end, the nearest that is `step` before.
Sources reversed(int length, int sum, int step) {
  Sources out;
  for (int i = 0; i < length; ++i) {
    int from = sum - i;
    while (from >= length) from -= step;
    out.push_back(std::max(from, 0));
  }
  return out;
}

Sources in_order(int length) {
  Sources out(static_cast<std::size_t>(length));
  std::iota(out.begin(), out.end(), 0);
  return out;
}

// Columns, or rows, of the planes of light and of colour differences.
struct Axis {
  Sources light;
  Sources chroma;
};

Axis axis_of(int length, bool swaps, bool mosaic, int chroma_step, double chroma_first) {
  const int chroma_length = (length + chroma_step - 1) / chroma_step;
  if (!swaps) return {in_order(length), in_order(chroma_length)};
  const int step = mosaic ? 2 : chroma_step;
  const int sum = sum_of_places(length, step, chroma_first);
  const auto twice = static_cast<int>(std::lround(2 * chroma_first));
  return {reversed(length, sum, mosaic ? 2 : 1),
          reversed(chroma_length, (sum - twice) / chroma_step, 1)};
}

template <class T>
void turn_samples(const SampleView& from, const Sources& columns, const Sources& rows,
                  std::byte* to) {
  auto* out = reinterpret_cast<T*>(to);
  for (const int y : rows) {
    const T* row = from.template row<T>(y);
    for (const int x : columns) *out++ = row[x];
  }
}

class TurnedCapture final : public ChangedCapture {
 public:
  TurnedCapture(std::unique_ptr<Capture> source, CaptureInfo info, std::vector<TurnedFrames> turned)
      : ChangedCapture(std::move(source), std::move(info)), turned_(std::move(turned)) {}

 private:
  [[nodiscard]] Turn turn_of(FrameIndex index) const {
    for (const TurnedFrames& range : turned_)
      if (range.frames.first <= index && index <= range.frames.last) return range.turn;
    return Turn::none;
  }

  [[nodiscard]] Frame changed(Frame frame) const override {
    const Turn turn = turn_of(frame.index);
    return turn == Turn::none ? frame : turned(frame, turn);
  }

  [[nodiscard]] Frame turned(const Frame& frame, Turn turn) const {
    const bool mosaic = info().colour == Colour::cfa;
    const bool differences = info().colour == Colour::yuv;
    const capture::Chroma chroma = differences ? info().chroma : capture::Chroma{};
    const Size size = frame.size();
    const Axis columns =
        axis_of(size.width_px, swaps_columns(turn), mosaic, chroma.columns, chroma.first_x_px);
    const Axis rows =
        axis_of(size.height_px, swaps_rows(turn), mosaic, chroma.rows, chroma.first_y_px);
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
  static SampleView turned(const SampleView& from, const Sources& columns, const Sources& rows,
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

  std::vector<TurnedFrames> turned_;
};

}  // namespace

std::unique_ptr<Capture> turned_back(std::unique_ptr<Capture> source,
                                     std::vector<TurnedFrames> turned) {
  if (turned.empty()) return source;
  CaptureInfo info = source->info();
  return std::make_unique<TurnedCapture>(std::move(source), std::move(info), std::move(turned));
}

}  // namespace lull::calibrate
