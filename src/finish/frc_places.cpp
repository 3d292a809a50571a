#include "finish/frc_places.h"

#include <algorithm>

#include "core/parallel.h"

namespace lull::finish {

namespace {

constexpr int kStepPx = FrcSquare::kSidePx / 2;

// The first place of the grid at or behind `at`, less `at`.
int until_grid(int at) { return (kStepPx - at % kStepPx) % kStepPx; }

bool is_covered(PlaneView covered) {
  for (int y = 0; y < covered.height_px; ++y) {
    const float* row = covered.row(y);
    if (std::any_of(row, row + covered.width_px, [](float v) { return v <= 0; })) return false;
  }
  return true;
}

// The means over the channels in one square.
Plane mean_in(const std::vector<PlaneView>& channels, const Box& box) {
  std::vector<PlaneView> inside;
  for (const PlaneView& channel : channels) inside.push_back(channel.crop(box));
  return mean_plane(inside);
}

}  // namespace

std::vector<FrcSquare> frc_by_place(const std::vector<PlaneView>& channels,
                                    const std::vector<PlaneView>& noise, PlaneView covered, int x0,
                                    int y0) {
  LULL_ASSERT(channels.size() == noise.size());
  const int side = FrcSquare::kSidePx;
  std::vector<FrcSquare> out;
  for (int y = until_grid(y0); y + side <= covered.height_px; y += kStepPx) {
    for (int x = until_grid(x0); x + side <= covered.width_px; x += kStepPx) {
      const Box box = {x, y, x + side, y + side};
      if (is_covered(covered.crop(box))) out.push_back({box, {}});
    }
  }
  parallel_for(std::ssize(out), [&](std::int64_t i) {
    FrcSquare& square = out[static_cast<std::size_t>(i)];
    const Plane whole = mean_in(channels, square.box);
    const Plane half = mean_in(noise, square.box);
    square.frc =
        spectrum::mean_sector_correlation(weighted_sum(whole.view(), 1, half.view()).view(),
                                          weighted_sum(whole.view(), -1, half.view()).view());
  });
  return out;
}

}  // namespace lull::finish
