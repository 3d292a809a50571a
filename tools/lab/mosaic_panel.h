#pragma once

#include <vector>

#include "core/plane.h"
#include "lab/mosaic_plan.h"
#include "lab/mosaic_scene.h"
#include "spectrum/frc.h"

namespace lull::lab {

inline constexpr double kPanelLevel = 0.7;       ///< of the brightest light, of full scale
inline constexpr double kDarkPanelNoise = 0.15;  ///< of the noise, where there is no light

/// A panel as `lull stack` would leave it.
struct PanelStack {
  Plane light;
  Plane noise;  ///< half the difference of the half stacks
  spectrum::FrcCurve frc;
};

/// Places of the scene at the nodes of a grid over a panel: at every `step` px, and at its last
/// column and row.
struct PlaceGrid {
  std::vector<int> columns;  ///< px of the panel
  std::vector<int> rows;
  std::vector<Displacement> places;  ///< row by row
};

[[nodiscard]] PlaceGrid place_grid(const MosaicParameters& parameters, const PanelPlan& plan,
                                   const SceneDisc& disc, int step_px);

/// A linear picture of the scene through the air of the panel, which is that of a short exposure
/// with a weaker turbulence (Fried 1966, J. Opt. Soc. Am. 56, 1372), with gain, vignetting, offset
/// and noise. @param brightest  of the scene through the telescope, which becomes kPanelLevel.
[[nodiscard]] PanelStack make_panel(const MosaicParameters& parameters, const PanelPlan& plan,
                                    const SceneDisc& disc, const MosaicScene& scene,
                                    double brightest);

/// The pixels of the scene that a panel shows, and a few around them.
[[nodiscard]] Box part_shown(const PlaceGrid& grid, Size scene);

}  // namespace lull::lab
