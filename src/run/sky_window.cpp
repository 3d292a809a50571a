#include "run/sky_window.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "finish/dark_sky.h"
#include "spectrum/patch_grid.h"

namespace lull::run {

namespace {

constexpr double kMostSky = 0.85;  // of a part: beyond, there is too little of the object

struct Part {
  double covered = 0;
  double sky = 0;
  double light = 0;
};

Part part_of(PlaneView mean, PlaneView covered, const Box& box, float sky_level) {
  Part out;
  for (int y = box.y0; y < box.y1; ++y) {
    for (int x = box.x0; x < box.x1; ++x) {
      out.covered += static_cast<double>(covered.row(y)[x]);
      out.light += static_cast<double>(mean.row(y)[x]);
      if (mean.row(y)[x] < sky_level) out.sky += 1;
    }
  }
  const double area = static_cast<double>(box.width_px()) * box.height_px();
  return {out.covered / area, out.sky / area, out.light / area};
}

}  // namespace

SkyWindow sky_window(const files::PictureView& shown, PlaneView covered, int side, Size full,
                     int window_px) {
  const Plane mean = mean_plane(shown.channels);
  const int window = std::max(1, (window_px + side - 1) / side);
  const Size size = mean.size();
  // Less than anything where the whole shows too little sky.
  const float level = finish::sky_level(mean.view()).value_or(-INFINITY);
  Box best{0, 0, std::min(window, size.width_px), std::min(window, size.height_px)};
  double best_score = -std::numeric_limits<double>::infinity();
  bool has_sky = false;
  for (const int y : spectrum::patch_starts(0, size.height_px, window)) {
    for (const int x : spectrum::patch_starts(0, size.width_px, window)) {
      const Box box{x, y, std::min(x + window, size.width_px),
                    std::min(y + window, size.height_px)};
      const Part part = part_of(mean.view(), covered, box, level);
      const bool sky =
          part.sky >= finish::kLeastSky && part.sky <= kMostSky && part.covered > 0.999;
      // What is covered comes first, then sky, then how even or bright it is.
      const double score = 100 * std::floor(10 * part.covered) +
                           (sky ? 10 - std::abs(part.sky - 0.5) : std::atan(part.light));
      if (score <= best_score) continue;
      best_score = score;
      best = box;
      has_sky = sky;
    }
  }
  return {
      Box{best.x0 * side, best.y0 * side, best.x0 * side + window_px, best.y0 * side + window_px}
          .intersection({0, 0, full.width_px, full.height_px}),
      has_sky};
}

}  // namespace lull::run
