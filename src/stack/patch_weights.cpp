#include "stack/patch_weights.h"

#include <algorithm>
#include <cmath>

namespace lull::stack {

namespace {

// Standard deviation of the mean noise energy of a patch, as a share of that energy, for a window
// of 16 px: a mean of about 800 squares of Gaussian values, each of which repeats in its
// neighbours about threefold; sqrt(2 * 3 / 800).
constexpr double kEnergyUncertainty = 0.09;
constexpr double kLeastWeight = 1e-4;
constexpr double kMostWeight = 1e4;

}  // namespace

std::vector<float> patch_weights(const quality::CellMeasure& cells, double noise_energy,
                                 double brightness, double object_level, double typical_sharpness,
                                 const align::ShiftField& field,
                                 const PatchWeightOptions& options) {
  std::vector<float> weights(field.local_x.size(), 1.0F);
  if (cells.energy.count() == 0 || typical_sharpness <= 0 || brightness <= 0) return weights;
  const quality::CellGrid energy =
      quality::blurred(quality::detail_energy(cells, noise_energy, object_level), options.patch_px);
  const double uncertain = kEnergyUncertainty * noise_energy * 16.0 / options.patch_px;
  const double scale = 1.0 / (brightness * brightness * typical_sharpness);
  const int node = align::ShiftField::kNodePx;
  for (int r = 0; r < field.rows(); ++r) {
    for (int c = 0; c < field.columns(); ++c) {
      const double x = c * node + 0.5 * (node - 1);
      const double y = r * node + 0.5 * (node - 1);
      const FrameOffset rigid = field.rigid_at(x, y);
      const double here = static_cast<double>(energy.at_pixel(x + rigid.x_px, y + rigid.y_px));
      const double sharpness = (std::max(here, 0.0) + uncertain) * scale;
      const double weight = std::pow(sharpness, options.power);
      weights[static_cast<std::size_t>(std::ptrdiff_t{r} * field.columns() + c)] =
          static_cast<float>(
              std::clamp(weight, kLeastWeight * kLeastWeight, kMostWeight * kMostWeight));
    }
  }
  return weights;
}

}  // namespace lull::stack
