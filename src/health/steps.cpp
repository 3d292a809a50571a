#include "health/steps.h"

#include <algorithm>
#include <cmath>

#include "core/parallel.h"
#include "spectrum/fft.h"

namespace lull::health {

namespace {

constexpr int kLargestTile = 96;
constexpr int kSmallestTile = 16;  // find_shift asks for it
constexpr std::size_t kPairsOfBlock = 8;

template <class T>
void sum_pairs(SampleView samples, const SampleScale& scale, int x0, int y0, Plane& out) {
  const auto black = static_cast<float>(4 * scale.black);
  const auto factor = static_cast<float>(scale.per_unit / 4);
  for (int y = 0; y < out.height(); ++y) {
    const T* up = samples.row<T>(y0 + 2 * y) + x0;
    const T* down = samples.row<T>(y0 + 2 * y + 1) + x0;
    float* to = out.row(y);
    for (std::ptrdiff_t x = 0; x < out.width(); ++x) {
      const int sum = up[2 * x] + up[2 * x + 1] + down[2 * x] + down[2 * x + 1];
      to[x] = (static_cast<float>(sum) - black) * factor;
    }
  }
}

}  // namespace

Steps::Steps(const capture::CaptureInfo& info)
    : info_(info),
      tile_{spectrum::fast_length_below(std::min(info.size.width_px / 2, kLargestTile)),
            spectrum::fast_length_below(std::min(info.size.height_px / 2, kLargestTile))} {}

void Steps::reduce(const capture::Frame& frame, int x0, int y0, Plane& out) const {
  if (out.size() != tile_) out = Plane(tile_);
  const SampleView& samples = frame.planes[info_.colour == capture::Colour::rgb ? 1 : 0];
  samples.type == SampleType::u8 ? sum_pairs<std::uint8_t>(samples, info_.scale, x0, y0, out)
                                 : sum_pairs<std::uint16_t>(samples, info_.scale, x0, y0, out);
}

void Steps::add(const std::vector<const capture::Frame*>& frames,
                const std::vector<Displacement>& centres) {
  if (std::min(tile_.width_px, tile_.height_px) < kSmallestTile) return;
  std::vector<std::size_t> seconds;
  for (std::size_t i = 1; i < frames.size(); ++i) {
    if (frames[i]->index == frames[i - 1]->index + 1) seconds.push_back(i);
  }
  const std::size_t pairs = std::min(seconds.size(), kPairsOfBlock);
  workspaces_.resize(std::max(workspaces_.size(), pairs));
  std::vector<double> found(pairs, -1);
  parallel_for(static_cast<std::int64_t>(pairs), [&](std::int64_t n) {
    const auto pair = static_cast<std::size_t>(n);
    const std::size_t second = seconds[pair * seconds.size() / pairs];
    const auto start = [](double centre, int tile, int side) {
      // Even, so that a mosaic's squares stay whole.
      return 2 *
             std::clamp(static_cast<int>(std::lround(centre / 2)) - tile / 2, 0, side / 2 - tile);
    };
    const int x0 = start(centres[second].x_px, tile_.width_px, info_.size.width_px);
    const int y0 = start(centres[second].y_px, tile_.height_px, info_.size.height_px);
    Workspace& work = workspaces_[pair];
    reduce(*frames[second - 1], x0, y0, work.first);
    reduce(*frames[second], x0, y0, work.second);
    const auto shift = align::find_shift(work.first.view(), work.second.view(), {}, work.find);
    if (!shift.ok()) return;
    found[pair] = 2 * std::hypot(shift.value().x_px, shift.value().y_px);
  });
  for (const double length : found) {
    if (length >= 0) lengths_px_.push_back(length);
  }
}

}  // namespace lull::health
