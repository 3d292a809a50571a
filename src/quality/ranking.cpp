#include "quality/ranking.h"

#include <algorithm>

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

// Measures reach over the borders of cells, so those beside a saturated one see its edge: they are
// left out like it, unless that would leave fewer than half of the others.
std::vector<bool> beside_saturated(const CellMeasure& cells) {
  std::vector<bool> out = cells.saturated;
  const int columns = cells.mean.columns();
  const int rows = cells.mean.rows();
  for (std::size_t i = 0; i < cells.saturated.size(); ++i) {
    if (!cells.saturated[i]) continue;
    const int row = static_cast<int>(i) / columns;
    const int column = static_cast<int>(i) % columns;
    for (int y = std::max(row - 1, 0); y <= std::min(row + 1, rows - 1); ++y) {
      for (int x = std::max(column - 1, 0); x <= std::min(column + 1, columns - 1); ++x)
        out[static_cast<std::size_t>(std::ptrdiff_t{y} * columns + x)] = true;
    }
  }
  const auto others = std::count(cells.saturated.begin(), cells.saturated.end(), false);
  return 2 * std::count(out.begin(), out.end(), false) < others ? cells.saturated : out;
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

FrameEnergy frame_energy(const CellMeasure& cells, double brightness, double object_level) {
  const std::vector<bool> object = object_cells(cells.mean, object_level);
  const std::vector<bool> left_out = beside_saturated(cells);
  double counted = 0;
  FrameEnergy out;
  for (std::size_t i = 0; i < object.size(); ++i) {
    if (left_out[i]) continue;
    counted += 1;
    if (!object[i]) continue;
    out.total += static_cast<double>(cells.energy.values()[i]);
    out.of_unit_noise += 1;
  }
  if (brightness <= 0 || counted < 1) return {};
  const double scale = 1 / (counted * brightness * brightness);
  return {out.total * scale, out.of_unit_noise * scale};
}

double frame_sharpness(const CellMeasure& cells, double noise_energy, double brightness,
                       double object_level) {
  const FrameEnergy energy = frame_energy(cells, brightness, object_level);
  return energy.total - noise_energy * energy.of_unit_noise;
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
