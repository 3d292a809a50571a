#include "mosaic/holes.h"

#include <algorithm>
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

}  // namespace lull::mosaic
