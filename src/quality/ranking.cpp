#include "quality/ranking.h"

#include <algorithm>

#include "core/assert.h"

namespace lull::quality {

namespace {

// The cells of the mask and those beside them.
std::vector<bool> with_neighbours(const std::vector<bool>& mask, const CellGrid& grid) {
  std::vector<bool> out = mask;
  std::size_t at = 0;
  for (int row = 0; row < grid.rows(); ++row) {
    for (int column = 0; column < grid.columns(); ++column, ++at) {
      if (!mask[at]) continue;
      for (int y = std::max(row - 1, 0); y <= std::min(row + 1, grid.rows() - 1); ++y) {
        for (int x = std::max(column - 1, 0); x <= std::min(column + 1, grid.columns() - 1); ++x)
          out[static_cast<std::size_t>(std::ptrdiff_t{y} * grid.columns() + x)] = true;
      }
    }
  }
  return out;
}

// A cell shows the object when it, or a neighbour, is bright enough: the limb is worth most.
std::vector<bool> object_cells(const CellGrid& mean, double object_level) {
  std::vector<bool> bright(mean.count());
  bool all = true;
  for (std::size_t i = 0; i < bright.size(); ++i) {
    bright[i] = static_cast<double>(mean.values()[i]) >= object_level;
    all = all && bright[i];
  }
  return all ? bright : with_neighbours(bright, mean);
}

// Measures reach over the borders of cells, so those beside a saturated one see its edge: they are
// left out like it, unless that would leave fewer than half of the others.
std::vector<bool> beside_saturated(const CellMeasure& cells) {
  const auto saturated = std::count(cells.saturated.begin(), cells.saturated.end(), true);
  if (saturated == 0) return cells.saturated;
  std::vector<bool> out = with_neighbours(cells.saturated, cells.mean);
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

FrameEnergies frame_energies(const CellMeasure& cells, const std::vector<CellGrid>& energies,
                             double brightness, double object_level) {
  LULL_ASSERT(energies.size() <= kMostMeasures);
  FrameEnergies out;
  const std::vector<bool> object = object_cells(cells.mean, object_level);
  const std::vector<bool> left_out = beside_saturated(cells);
  std::vector<std::size_t> shown;
  double counted = 0;
  for (std::size_t i = 0; i < object.size(); ++i) {
    if (left_out[i]) continue;
    counted += 1;
    if (object[i]) shown.push_back(i);
  }
  if (brightness <= 0 || counted < 1) return out;
  const double scale = 1 / (counted * brightness * brightness);
  for (std::size_t m = 0; m < energies.size(); ++m) {
    double total = 0;
    for (const std::size_t i : shown) total += static_cast<double>(energies[m].values()[i]);
    out.total[m] = total * scale;
  }
  out.of_unit_noise = static_cast<double>(shown.size()) * scale;
  return out;
}

double frame_sharpness(const CellMeasure& cells, double noise_energy, double brightness,
                       double object_level) {
  const FrameEnergies energy = frame_energies(cells, {cells.energy}, brightness, object_level);
  return energy.total.front() - noise_energy * energy.of_unit_noise;
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
