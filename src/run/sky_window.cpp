#include "run/sky_window.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/statistics.h"
#include "spectrum/patch_grid.h"

namespace lull::run {

namespace {

// As finish/dark_sky judges.
constexpr double kFaintest = 0.01;
constexpr double kBright = 0.95;
constexpr double kSkyLevel = 0.1;
constexpr double kLeastSky = 0.1;
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

// Below, all is sky; less than anything where there is too little of it.
float sky_level_of(PlaneView mean) {
  std::vector<float> values;
  for (int y = 0; y < mean.height_px; ++y)
    values.insert(values.end(), mean.row(y), mean.row(y) + mean.width_px);
  const float faintest = lower_quantile(values, kFaintest);
  const float bright = lower_quantile(values, kBright);
  const float level = faintest + static_cast<float>(kSkyLevel) * (bright - faintest);
  const auto below =
      std::count_if(values.begin(), values.end(), [&](float v) { return v < level; });
  const bool has_sky = bright > faintest &&
                       static_cast<double>(below) >= kLeastSky * static_cast<double>(values.size());
  return has_sky ? level : -INFINITY;
}

}  // namespace

SkyWindow sky_window(const files::PictureView& shown, PlaneView covered, int side, Size full,
                     int window_px) {
  const Plane mean = mean_plane(shown.channels);
  const int window = std::max(1, (window_px + side - 1) / side);
  const Size size = mean.size();
  const float level = sky_level_of(mean.view());
  Box best{0, 0, std::min(window, size.width_px), std::min(window, size.height_px)};
  double best_score = -INFINITY;
  bool has_sky = false;
  for (const int y : spectrum::patch_starts(0, size.height_px, window)) {
    for (const int x : spectrum::patch_starts(0, size.width_px, window)) {
      const Box box{x, y, std::min(x + window, size.width_px),
                    std::min(y + window, size.height_px)};
      const Part part = part_of(mean.view(), covered, box, level);
      const bool sky = part.sky >= kLeastSky && part.sky <= kMostSky && part.covered > 0.999;
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
