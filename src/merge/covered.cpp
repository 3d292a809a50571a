#include "merge/covered.h"

#include <algorithm>
#include <array>

namespace lull::merge {

namespace {

// Share of the pixels of a line, not empty, that some mask leaves out.
double open_share(const std::vector<PlaneView>& masks, const Box& line) {
  std::int64_t open = 0;
  for (int y = line.y0; y < line.y1; ++y) {
    for (int x = line.x0; x < line.x1; ++x) {
      open += std::any_of(masks.begin(), masks.end(),
                          [&](const PlaneView& mask) { return mask.row(y)[x] == 0; });
    }
  }
  return static_cast<double>(open) /
         static_cast<double>(std::int64_t{line.width_px()} * line.height_px());
}

}  // namespace

Box covered_box(const std::vector<PlaneView>& masks, const Box& within) {
  Box box = within;
  while (!box.empty()) {
    const std::array<Box, 4> sides = {Box{box.x0, box.y0, box.x0 + 1, box.y1},
                                      {box.x1 - 1, box.y0, box.x1, box.y1},
                                      {box.x0, box.y0, box.x1, box.y0 + 1},
                                      {box.x0, box.y1 - 1, box.x1, box.y1}};
    std::array<double, 4> open{};
    std::transform(sides.begin(), sides.end(), open.begin(),
                   [&](const Box& side) { return open_share(masks, side); });
    const auto worst = std::max_element(open.begin(), open.end()) - open.begin();
    if (open[static_cast<std::size_t>(worst)] == 0) break;
    if (worst == 0) ++box.x0;
    if (worst == 1) --box.x1;
    if (worst == 2) ++box.y0;
    if (worst == 3) --box.y1;
  }
  return box;
}

}  // namespace lull::merge
