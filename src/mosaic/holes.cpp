#include "mosaic/holes.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <opencv2/imgproc.hpp>

namespace lull::mosaic {

std::vector<Hole> holes_in(PlaneView covered, double least_px) {
  cv::Mat hidden(covered.height_px, covered.width_px, CV_8U);
  for (int y = 0; y < covered.height_px; ++y) {
    auto* row = hidden.ptr<std::uint8_t>(y);
    for (int x = 0; x < covered.width_px; ++x) row[x] = covered.row(y)[x] > 0 ? 0 : 255;
  }
  cv::Mat labels;
  cv::Mat boxes;
  cv::Mat middles;
  const int count = cv::connectedComponentsWithStats(hidden, labels, boxes, middles, 4);
  std::vector<Hole> out;
  for (int i = 1; i < count; ++i) {  // 0 is what is shown
    const auto box = [&](int what) { return boxes.at<int>(i, what); };
    Hole hole;
    hole.box = {box(cv::CC_STAT_LEFT), box(cv::CC_STAT_TOP),
                box(cv::CC_STAT_LEFT) + box(cv::CC_STAT_WIDTH),
                box(cv::CC_STAT_TOP) + box(cv::CC_STAT_HEIGHT)};
    hole.middle = {middles.at<double>(i, 0), middles.at<double>(i, 1)};
    hole.area_px = box(cv::CC_STAT_AREA);
    const bool at_the_edge = hole.box.x0 == 0 || hole.box.y0 == 0 ||
                             hole.box.x1 == covered.width_px || hole.box.y1 == covered.height_px;
    if (!at_the_edge && hole.area_px >= least_px) out.push_back(hole);
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const Hole& a, const Hole& b) { return a.area_px > b.area_px; });
  return out;
}

std::vector<Hole> holes_in_disc(const LimbCurve& disc, const std::vector<PanelMap>& maps,
                                const std::vector<PanelIndex>& group, double least_px) {
  constexpr int kCells = 200;  // over a radius
  constexpr double kMeantWhole = 0.8;
  const double cell_px = disc.circle.radius_px / kCells;
  const int side = 2 * kCells + 3;  // with cells all around
  const Displacement origin{disc.circle.x_px - (kCells + 1) * cell_px,
                            disc.circle.y_px - (kCells + 1) * cell_px};
  Plane shown(Size{side, side});
  double inside = 0;
  double hidden = 0;
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      const Displacement at = origin + Displacement{x * cell_px, y * cell_px};
      const bool is_disc = disc.circle.outside_px(at) < 0;
      const bool is_hidden =
          is_disc && std::none_of(group.begin(), group.end(), [&](PanelIndex panel) {
            return is_inside(maps[panel].panel, maps[panel].to_panel(at), 0);
          });
      shown.row(y)[x] = is_hidden ? 0.0F : 1.0F;
      inside += is_disc ? 1 : 0;
      hidden += is_hidden ? 1 : 0;
    }
  }
  if (hidden > (1 - kMeantWhole) * inside) return {};
  std::vector<Hole> out = holes_in(shown.view(), least_px / (cell_px * cell_px));
  for (Hole& hole : out) {
    const auto full = [&](double start, int cell) {
      return static_cast<int>(std::lround(start + (cell - 0.5) * cell_px));
    };
    hole.box = {full(origin.x_px, hole.box.x0), full(origin.y_px, hole.box.y0),
                full(origin.x_px, hole.box.x1), full(origin.y_px, hole.box.y1)};
    hole.middle = origin + Displacement{hole.middle.x_px * cell_px, hole.middle.y_px * cell_px};
    hole.area_px *= cell_px * cell_px;
  }
  return out;
}

}  // namespace lull::mosaic
