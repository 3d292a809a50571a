#include "stack/surroundings.h"

#include <algorithm>
#include <vector>

namespace lull::stack {

namespace {

constexpr int kMostPx = 32;
constexpr float kLeastWeight = 0.1F;
constexpr int kNearPx = 1;  // a mosaic has no sample of a colour at every pixel

// Sum over the nearest pixels along a line.
float weight_at(PlaneView weight, const Box& line, int x, int y) {
  const int across = line.width_px() > 1 ? kNearPx : 0;
  const int down = line.height_px() > 1 ? kNearPx : 0;
  const Box near = Box{x - across, y - down, x + across + 1, y + down + 1}.intersection(line);
  float sum = 0;
  for (int j = near.y0; j < near.y1; ++j)
    for (int i = near.x0; i < near.x1; ++i) sum += weight.row(j)[i];
  return sum;
}

// Everywhere along a row or a column, against the same place on the border of the crop.
bool suffices(PlaneView weight, const Box& line, const Box& border) {
  for (int y = line.y0; y < line.y1; ++y) {
    for (int x = line.x0; x < line.x1; ++x) {
      const float here = weight_at(weight, line, x, y);
      const float there =
          weight_at(weight, border, x - line.x0 + border.x0, y - line.y0 + border.y0);
      if (!(here > 0 && here >= kLeastWeight * there)) return false;
    }
  }
  return true;
}

}  // namespace

Box surroundings(const Accumulator& sums, const Box& crop) {
  std::vector<PlaneView> weights;
  for (int c = 0; c < sums.channels(); ++c)
    for (const Half half : kHalves) weights.push_back(sums.half_weight(c, half));
  const auto suffice = [&](const Box& line, const Box& border) {
    return std::all_of(weights.begin(), weights.end(),
                       [&](PlaneView weight) { return suffices(weight, line, border); });
  };
  const Size size = sums.grid().size();
  const Box most =
      Box{crop.x0 - kMostPx, crop.y0 - kMostPx, crop.x1 + kMostPx, crop.y1 + kMostPx}.intersection(
          {0, 0, size.width_px, size.height_px});
  const auto row = [&](int y, const Box& area) { return Box{area.x0, y, area.x1, y + 1}; };
  const auto column = [&](int x, const Box& area) { return Box{x, area.y0, x + 1, area.y1}; };
  Box area = crop;
  while (area.y0 > most.y0 && suffice(row(area.y0 - 1, area), row(crop.y0, area))) --area.y0;
  while (area.y1 < most.y1 && suffice(row(area.y1, area), row(crop.y1 - 1, area))) ++area.y1;
  while (area.x0 > most.x0 && suffice(column(area.x0 - 1, area), column(crop.x0, area))) --area.x0;
  while (area.x1 < most.x1 && suffice(column(area.x1, area), column(crop.x1 - 1, area))) ++area.x1;
  return area;
}

}  // namespace lull::stack
