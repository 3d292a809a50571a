#include "quality/ranking.h"

#include <algorithm>
#include <numeric>

namespace lull::quality {

namespace {

// A cell shows the object when it, or a neighbour, is bright enough: the limb is worth most.
std::vector<bool> object_cells(const CellGrid& mean, double object_level) {
  std::vector<bool> object(mean.count(), false);
  for (int r = 0; r < mean.rows(); ++r) {
    for (int c = 0; c < mean.columns(); ++c) {
      if (static_cast<double>(mean.row(r)[c]) < object_level) continue;
      for (int y = std::max(r - 1, 0); y <= std::min(r + 1, mean.rows() - 1); ++y) {
        for (int x = std::max(c - 1, 0); x <= std::min(c + 1, mean.columns() - 1); ++x) {
          object[static_cast<std::size_t>(std::ptrdiff_t{y} * mean.columns() + x)] = true;
        }
      }
    }
  }
  return object;
}

}  // namespace

double saturated_share(const CellMeasure& cells) {
  const auto count = std::count(cells.saturated.begin(), cells.saturated.end(), true);
  return cells.saturated.empty()
             ? 0
             : static_cast<double>(count) / static_cast<double>(cells.saturated.size());
}

CellGrid detail_energy(const CellMeasure& cells, double noise_energy, double object_level) {
  const std::vector<bool> object = object_cells(cells.mean, object_level);
  CellGrid out = cells.energy;
  for (std::size_t i = 0; i < out.count(); ++i) {
    const bool counts = object[i] && !cells.saturated[i];
    out.values()[i] = counts ? cells.energy.values()[i] - static_cast<float>(noise_energy) : 0.0F;
  }
  return out;
}

double frame_sharpness(const CellMeasure& cells, double noise_energy, double brightness,
                       double object_level) {
  const CellGrid energy = detail_energy(cells, noise_energy, object_level);
  const double sum = std::accumulate(energy.values().begin(), energy.values().end(), 0.0);
  const double counted = static_cast<double>(energy.count()) * (1.0 - saturated_share(cells));
  if (brightness <= 0 || counted < 1) return 0;
  return sum / counted / (brightness * brightness);
}

std::vector<std::size_t> rank(const std::vector<FrameRecord>& records) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < records.size(); ++i) {
    if (records[i].usable()) order.push_back(i);
  }
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return records[a].sharpness > records[b].sharpness;
  });
  return order;
}

}  // namespace lull::quality
