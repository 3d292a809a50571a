#include "mosaic/moved_light.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <opencv2/imgproc.hpp>

#include "core/parallel.h"
#include "core/statistics.h"
#include "merge/detail.h"

namespace lull::mosaic {

namespace {

constexpr double kSmoothPx = 12;      // of the mosaic; finer light is shown from one panel anyhow
constexpr double kAroundPx = 80;      // beyond the usual length of shadows that move
constexpr double kMarginPx = 4;       // of a sketch: its edge is not trusted
constexpr double kLeastChange = 0.1;  // of the light around
constexpr double kTimesUsual = 6;
constexpr float kLeastLight = 0.01F;  // of the greatest light: darker is sky
constexpr int kGrownCells = 2;        // around what moved
constexpr double kLeastCells = 6;     // before growing: fewer are chance
constexpr int kBlendCells = 1;        // sigma of the border between panels
constexpr int kBlendReach = 4;        // cells

// Light of a panel as the mosaic has it, smooth, on the grid of its sketch.
struct Smooth {
  Plane light;
  double scale = 1;  // px of the mosaic for one of the sketch
};

Smooth smooth_of(const Sketch& sketch, const PanelMap& map, PanelIndex panel,
                 const std::vector<std::vector<Brightness>>& brightness) {
  const Size size = sketch.light.front().size();
  Smooth out{Plane(size), sketch.side * map.scale()};
  for (std::size_t c = 0; c < sketch.light.size(); ++c) {
    const Brightness& light = brightness[c][panel];
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const Displacement place = sketch.in_full({static_cast<double>(x), static_cast<double>(y)});
        out.light.row(y)[x] += static_cast<float>(
            (static_cast<double>(sketch.light[c].row(y)[x]) + light.offset) *
            light.factor_at(map.radius2(place)) / static_cast<double>(sketch.light.size()));
      }
    }
  }
  out.light = merge::blurred(out.light.view(), kSmoothPx / out.scale);
  return out;
}

float between(const Plane& plane, Displacement at) {
  const int x = static_cast<int>(at.x_px);
  const int y = static_cast<int>(at.y_px);
  const auto right = static_cast<float>(at.x_px - x);
  const auto down = static_cast<float>(at.y_px - y);
  const float* upper = plane.row(y) + x;
  const float* lower = plane.row(y + 1) + x;
  return std::lerp(std::lerp(upper[0], upper[1], right), std::lerp(lower[0], lower[1], right),
                   down);
}

// What two panels show of the cells around their overlap.
struct Compared {
  Box cells;
  cv::Mat gap;    // first less second
  cv::Mat light;  // of both
  cv::Mat shown;  // by both: 1, else 0
};

cv::Mat zeros(const Box& cells) {
  return cv::Mat::zeros(cells.height_px(), cells.width_px(), CV_32F);
}

Compared compared(const Link& link, Size cells, const std::vector<Sketch>& sketches,
                  const std::vector<PanelMap>& maps, const std::vector<Smooth>& smooth) {
  const PanelMap& first = maps[link.first];
  const PanelMap& second = maps[link.second];
  constexpr int kCell = MovedLight::kCellPx;
  const Box px = outline(first).intersection(outline(second));
  Compared out;
  out.cells = Box{px.x0 / kCell, px.y0 / kCell, px.x1 / kCell + 1, px.y1 / kCell + 1}.intersection(
      {0, 0, cells.width_px, cells.height_px});
  if (out.cells.empty()) return out;
  out.gap = zeros(out.cells);
  out.light = zeros(out.cells);
  out.shown = zeros(out.cells);
  parallel_for(out.cells.height_px(), [&](std::int64_t row) {
    const int j = static_cast<int>(row);
    for (int i = 0; i < out.cells.width_px(); ++i) {
      const Displacement at{(out.cells.x0 + i + 0.5) * kCell - 0.5,
                            (out.cells.y0 + j + 0.5) * kCell - 0.5};
      const Displacement p = sketches[link.first].seen_at(first.to_panel(at));
      const Displacement q = sketches[link.second].seen_at(second.to_panel(at));
      const Plane& a = smooth[link.first].light;
      const Plane& b = smooth[link.second].light;
      if (!is_inside(a.size(), p, kMarginPx) || !is_inside(b.size(), q, kMarginPx)) continue;
      const float one = between(a, p);
      const float other = between(b, q);
      out.gap.at<float>(j, i) = one - other;
      out.light.at<float>(j, i) = (one + other) / 2;
      out.shown.at<float>(j, i) = 1;
    }
  });
  return out;
}

// Mean over the surroundings of what both show.
cv::Mat around(const cv::Mat& values, const cv::Mat& shown) {
  constexpr double kSigma = kAroundPx / MovedLight::kCellPx;
  cv::Mat sum;
  cv::Mat count;
  cv::GaussianBlur(values, sum, {}, kSigma, kSigma, cv::BORDER_CONSTANT);
  cv::GaussianBlur(shown, count, {}, kSigma, kSigma, cv::BORDER_CONSTANT);
  return sum / cv::max(count, 1e-6);
}

// Without what is smaller than a shadow that can be seen.
void drop_small(cv::Mat& mask) {
  cv::Mat labels;
  cv::Mat boxes;
  cv::Mat middles;
  const int count = cv::connectedComponentsWithStats(mask, labels, boxes, middles, 8);
  for (int i = 1; i < count; ++i) {
    if (boxes.at<int>(i, cv::CC_STAT_AREA) >= kLeastCells) continue;
    mask.setTo(0, labels == i);
  }
}

struct MovedCells {
  cv::Mat mask;      // 255, else 0
  double share = 0;  // of the cells with light
};

// Cells of an overlap whose light moved.
MovedCells moved_in(const Compared& both, float greatest) {
  const cv::Mat gap = both.gap - around(both.gap, both.shown);
  const cv::Mat light = cv::max(around(both.light, both.shown), both.light);
  cv::Mat change = cv::Mat::zeros(gap.size(), CV_32F);  // of the light around
  std::vector<double> all;
  for (int y = 0; y < gap.rows; ++y) {
    for (int x = 0; x < gap.cols; ++x) {
      const float lit = light.at<float>(y, x);
      if (both.shown.at<float>(y, x) == 0 || lit < kLeastLight * greatest) continue;
      change.at<float>(y, x) = std::abs(gap.at<float>(y, x)) / lit;
      all.push_back(static_cast<double>(change.at<float>(y, x)));
    }
  }
  MovedCells out{cv::Mat::zeros(gap.size(), CV_8U)};
  if (all.empty()) return out;
  const auto cells = static_cast<double>(all.size());
  // Half of what is Gaussian lies within 0.6745 of its spread.
  const double spread = median(std::move(all)) / 0.6745;
  out.mask = change > std::max(kLeastChange, kTimesUsual * spread);
  drop_small(out.mask);
  out.share = cv::countNonZero(out.mask) / cells;
  return out;
}

// How far inside a panel a place lies, as a share of its shorter side; 0: not shown.
double depth_of(const PanelMap& map, Displacement at) {
  const Displacement place = map.to_panel(at);
  const double side = std::min({place.x_px, map.panel.width_px - 1 - place.x_px, place.y_px,
                                map.panel.height_px - 1 - place.y_px});
  return std::max(side, 0.0) / std::min(map.panel.width_px, map.panel.height_px);
}

struct Cell {
  int column = 0;
  int row = 0;
};

// Gives connected cells to the panel that shows them deepest inside, then what it does not show.
void give(std::vector<Cell> cells, const std::vector<PanelMap>& maps,
          std::vector<PanelIndex> candidates, MovedLight& out) {
  const auto middle = [](const Cell& cell) {
    return Displacement{(cell.column + 0.5) * MovedLight::kCellPx - 0.5,
                        (cell.row + 0.5) * MovedLight::kCellPx - 0.5};
  };
  while (!cells.empty() && !candidates.empty()) {
    std::size_t best = 0;
    double deepest = -1;
    for (std::size_t i = 0; i < candidates.size(); ++i) {
      double sum = 0;
      for (const Cell& cell : cells) sum += depth_of(maps[candidates[i]], middle(cell));
      if (sum <= deepest) continue;
      deepest = sum;
      best = i;
    }
    const PanelIndex owner = candidates[best];
    candidates.erase(candidates.begin() + static_cast<std::ptrdiff_t>(best));
    std::erase_if(cells, [&](const Cell& cell) {
      if (!(depth_of(maps[owner], middle(cell)) > 0)) return false;
      out.owners[static_cast<std::size_t>(cell.row) * static_cast<std::size_t>(out.columns) +
                 static_cast<std::size_t>(cell.column)] = static_cast<std::int16_t>(owner);
      return true;
    });
  }
}

// Connected cells go to one panel each.
void give_all(const cv::Mat& moved, const std::vector<PanelMap>& maps,
              const std::vector<Link>& links, MovedLight& out) {
  cv::Mat grown;
  cv::dilate(
      moved, grown,
      cv::getStructuringElement(cv::MORPH_ELLIPSE, {2 * kGrownCells + 1, 2 * kGrownCells + 1}));
  cv::Mat labels;
  cv::Mat boxes;
  cv::Mat middles;
  const int count = cv::connectedComponentsWithStats(grown, labels, boxes, middles, 8);
  std::vector<std::vector<Cell>> all(static_cast<std::size_t>(count));
  for (int y = 0; y < labels.rows; ++y)
    for (int x = 0; x < labels.cols; ++x)
      if (const int label = labels.at<int>(y, x); label > 0)
        all[static_cast<std::size_t>(label)].push_back({x, y});
  std::vector<std::pair<std::size_t, Box>> found;
  for (int i = 1; i < count; ++i) {
    constexpr int kCell = MovedLight::kCellPx;
    const Box cells{boxes.at<int>(i, cv::CC_STAT_LEFT), boxes.at<int>(i, cv::CC_STAT_TOP),
                    boxes.at<int>(i, cv::CC_STAT_LEFT) + boxes.at<int>(i, cv::CC_STAT_WIDTH),
                    boxes.at<int>(i, cv::CC_STAT_TOP) + boxes.at<int>(i, cv::CC_STAT_HEIGHT)};
    const Box px{cells.x0 * kCell, cells.y0 * kCell, cells.x1 * kCell, cells.y1 * kCell};
    std::vector<PanelIndex> candidates;
    for (const Link& link : links)
      for (const PanelIndex panel : {link.first, link.second})
        if (!outline(maps[panel]).intersection(px).empty()) candidates.push_back(panel);
    std::sort(candidates.begin(), candidates.end());
    candidates.erase(std::unique(candidates.begin(), candidates.end()), candidates.end());
    std::vector<Cell>& own = all[static_cast<std::size_t>(i)];
    found.emplace_back(own.size(), px);
    give(std::move(own), maps, std::move(candidates), out);
  }
  std::stable_sort(found.begin(), found.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  for (const auto& [area, box] : found) out.places.push_back(box);
}

}  // namespace

Plane MovedLight::preference(PanelIndex panel, const Box& box) const {
  if (empty()) return {};
  const auto cell = [](int px) { return px >= 0 ? px / kCellPx : -((kCellPx - 1 - px) / kCellPx); };
  const Box cells{cell(box.x0) - kBlendReach, cell(box.y0) - kBlendReach,
                  cell(box.x1) + kBlendReach + 1, cell(box.y1) + kBlendReach + 1};
  cv::Mat own = zeros(cells);
  bool any = false;
  for (int y = std::max(cells.y0, 0); y < std::min(cells.y1, rows); ++y) {
    for (int x = std::max(cells.x0, 0); x < std::min(cells.x1, columns); ++x) {
      if (owners[static_cast<std::size_t>(y) * static_cast<std::size_t>(columns) +
                 static_cast<std::size_t>(x)] != static_cast<std::int16_t>(panel))
        continue;
      own.at<float>(y - cells.y0, x - cells.x0) = 1;
      any = true;
    }
  }
  if (!any) return {};
  cv::GaussianBlur(own, own, {2 * kBlendReach - 1, 2 * kBlendReach - 1}, kBlendCells, kBlendCells,
                   cv::BORDER_CONSTANT);
  Plane out(box.width_px(), box.height_px());
  for (int y = 0; y < out.height(); ++y) {
    const double v = (box.y0 + y + 0.5) / kCellPx - 0.5 - cells.y0;
    const int j = static_cast<int>(v);
    for (int x = 0; x < out.width(); ++x) {
      const double u = (box.x0 + x + 0.5) / kCellPx - 0.5 - cells.x0;
      const int i = static_cast<int>(u);
      const auto right = static_cast<float>(u - i);
      out.row(y)[x] =
          std::lerp(std::lerp(own.at<float>(j, i), own.at<float>(j, i + 1), right),
                    std::lerp(own.at<float>(j + 1, i), own.at<float>(j + 1, i + 1), right),
                    static_cast<float>(v - j));
    }
  }
  return out;
}

MovedLight moved_light(Size mosaic, const std::vector<Sketch>& sketches,
                       const std::vector<PanelMap>& maps, const std::vector<Link>& links,
                       const std::vector<std::vector<Brightness>>& brightness) {
  MovedLight out;
  if (sketches.size() > static_cast<std::size_t>(std::numeric_limits<std::int16_t>::max()))
    return out;
  out.columns = (mosaic.width_px + MovedLight::kCellPx - 1) / MovedLight::kCellPx;
  out.rows = (mosaic.height_px + MovedLight::kCellPx - 1) / MovedLight::kCellPx;
  std::vector<Smooth> smooth(sketches.size());
  std::vector<bool> needed(sketches.size());
  for (const Link& link : links) needed[link.first] = needed[link.second] = true;
  float greatest = 0;
  for (std::size_t i = 0; i < sketches.size(); ++i) {
    if (!needed[i]) continue;
    smooth[i] = smooth_of(sketches[i], maps[i], i, brightness);
    for (int y = 0; y < smooth[i].light.height(); ++y) {
      const float* row = smooth[i].light.row(y);
      greatest = std::max(greatest, *std::max_element(row, row + smooth[i].light.width()));
    }
  }
  cv::Mat moved = cv::Mat::zeros(out.rows, out.columns, CV_8U);
  for (const Link& link : links) {
    const Compared both = compared(link, {out.columns, out.rows}, sketches, maps, smooth);
    if (both.cells.empty()) continue;
    const MovedCells here = moved_in(both, greatest);
    if (here.share == 0) continue;
    out.overlaps.push_back({link.first, link.second, here.share});
    cv::Mat part =
        moved({both.cells.x0, both.cells.y0, both.cells.width_px(), both.cells.height_px()});
    cv::max(part, here.mask, part);
  }
  if (out.overlaps.empty()) return out;
  out.owners.assign(static_cast<std::size_t>(out.rows) * static_cast<std::size_t>(out.columns),
                    MovedLight::kNobody);
  give_all(moved, maps, links, out);
  return out;
}

}  // namespace lull::mosaic
