#pragma once

#include <array>
#include <optional>
#include <vector>

#include "core/outcome.h"
#include "quality/measure.h"
#include "quality/target.h"

namespace lull::quality {

/// What is known of one frame after the survey of a capture.
struct FrameRecord {
  FrameIndex index = 0;
  double time_s = 0;
  double sharpness = 0;    ///< higher is better; relative brightness and noise are accounted for
  double brightness = 0;   ///< of the object above the sky, light (1.0 = full scale)
  double noise = 0;        ///< standard deviation of the pixel noise on the object, light
  double usual_noise = 0;  ///< the same as of the frames around, see usual_noise()
  double saturated_share = 0;    ///< of the cells
  FrameOffset offset;            ///< of the object, against the survey's reference
  std::optional<Reject> reject;  ///< why the frame is not used

  [[nodiscard]] bool usable() const { return !reject.has_value(); }
};

/// Measures that rank frames together, at most.
inline constexpr std::size_t kMostMeasures = 3;

/// Energies of one frame over the square of the object's brightness. There is one for each frame of
/// a capture, so it is small.
struct FrameEnergies {
  std::array<double, kMostMeasures> total{};  ///< by each measure, noise included
  double of_unit_noise = 0;                   ///< what noise adds whose energy is 1
  double noise = 0;  ///< standard deviation of the pixel noise, light; see usual_noise()

  /// What the noise adds by a measure of this noise_gain().
  [[nodiscard]] double of_noise(double gain) const { return gain * noise * noise * of_unit_noise; }
};

/// Energies of a frame from its cells by some measures. Cells that do not show the object are left
/// out, and those that are saturated or beside such a one.
/// @param brightness, object_level see frame_sharpness().
/// @return without the noise.
[[nodiscard]] FrameEnergies frame_energies(const CellMeasure& cells,
                                           const std::vector<CellGrid>& energies, double brightness,
                                           double object_level);

/// Sharpness of a frame from its cells: energy less the share of the noise, over the square of the
/// object's brightness, so that thin cloud does not count as blur. Cells that do not show the
/// object, or are saturated, are left out.
/// @param noise standard deviation of the pixel noise, stored units.
/// @param brightness of the object above the sky, stored units.
/// @param object_level cells at least this bright show the object (or border on such a cell).
[[nodiscard]] double frame_sharpness(const CellMeasure& cells, double noise_energy,
                                     double brightness, double object_level);

/// Energy above noise for each cell; saturated cells and sky get 0.
[[nodiscard]] CellGrid detail_energy(const CellMeasure& cells, double noise_energy,
                                     double object_level);

/// Share of cells that are saturated.
[[nodiscard]] double saturated_share(const CellMeasure& cells);

/// Positions in `records` of the usable frames, sharpest first; equal sharpness by index.
[[nodiscard]] std::vector<std::size_t> rank(const std::vector<FrameRecord>& records);

}  // namespace lull::quality
