#include "health/interlace.h"

#include <algorithm>
#include <cmath>

#include "core/parallel.h"
#include "core/statistics.h"
#include "spectrum/fft.h"

namespace lull::health {

namespace {

constexpr int kWidestTile = 96;
constexpr int kHighestTile = 128;
constexpr int kLowestTile = 64;  // a quarter of its rows is the least that find_shift looks at
constexpr std::size_t kFramesOfBlock = 4;
constexpr std::size_t kFewestFrames = 4;
constexpr std::size_t kEnough = 48;  // frames
// Bounds: common practice, no source.
constexpr double kLeastShiftPx = 0.2;
constexpr double kTimesChance = 4;

template <class T>
void copy_rows(const SampleView& samples, const SampleScale& scale, Place corner, int first,
               int step, Plane& out) {
  for (int y = 0; y < out.height(); ++y) {
    const T* row = samples.row<T>(corner.y + first + y * step) + corner.x;
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = static_cast<float>(scale.to_light(static_cast<double>(row[x])));
  }
}

}  // namespace

FieldShifts::FieldShifts(const capture::CaptureInfo& info)
    : info_(info),
      tile_{spectrum::fast_length_below(std::min(info.size.width_px, kWidestTile)),
            4 * spectrum::fast_length_below(std::min(info.size.height_px, kHighestTile) / 4)} {}

std::optional<double> FieldShifts::across(const capture::Frame& frame, Place corner, int first,
                                          int second, int step) const {
  const SampleView& samples = frame.planes[info_.colour == capture::Colour::rgb ? 1 : 0];
  Plane planes[2] = {Plane(tile_.width_px, tile_.height_px / step),
                     Plane(tile_.width_px, tile_.height_px / step)};
  for (int i = 0; i < 2; ++i) {
    const int from = i == 0 ? first : second;
    samples.type == SampleType::u8
        ? copy_rows<std::uint8_t>(samples, info_.scale, corner, from, step, planes[i])
        : copy_rows<std::uint16_t>(samples, info_.scale, corner, from, step, planes[i]);
  }
  align::FindShiftWorkspace work;
  const auto shift =
      align::find_shift(std::as_const(planes[0]).view(), std::as_const(planes[1]).view(), {}, work);
  if (!shift.ok()) return std::nullopt;
  return std::abs(shift.value().x_px);
}

void FieldShifts::add(const std::vector<const capture::Frame*>& frames,
                      const std::vector<Displacement>& centres) {
  if (info_.colour == capture::Colour::cfa || frames.empty() || tile_.height_px < kLowestTile ||
      tile_.width_px < kLowestTile || shifts_px_.size() >= kEnough)
    return;
  const std::size_t count = std::min(frames.size(), kFramesOfBlock);
  std::vector<std::optional<double>> shifts(count);
  std::vector<std::optional<double>> chances(count);
  parallel_for(static_cast<std::int64_t>(count), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    const std::size_t k = i * frames.size() / count;
    const auto start = [](double centre, int tile, int side) {
      return std::clamp(static_cast<int>(std::lround(centre)) - tile / 2, 0, side - tile);
    };
    const Place corner{start(centres[k].x_px, tile_.width_px, info_.size.width_px),
                       start(centres[k].y_px, tile_.height_px, info_.size.height_px)};
    shifts[i] = across(*frames[k], corner, 0, 1, 2);
    chances[i] = across(*frames[k], corner, 0, 2, 4);
  });
  for (std::size_t i = 0; i < count; ++i) {
    if (!shifts[i] || !chances[i]) continue;
    shifts_px_.push_back(*shifts[i]);
    chances_px_.push_back(*chances[i]);
  }
}

std::optional<Interlace> FieldShifts::result() const {
  if (shifts_px_.size() < kFewestFrames) return std::nullopt;
  return Interlace{median(shifts_px_), median(chances_px_)};
}

bool is_interlaced(const Interlace& found) {
  return found.shift_px > kLeastShiftPx && found.shift_px > kTimesChance * found.chance_px;
}

}  // namespace lull::health
