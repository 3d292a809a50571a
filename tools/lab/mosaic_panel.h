#pragma once

#include <vector>

#include "core/plane.h"
#include "lab/mosaic_plan.h"
#include "lab/mosaic_scene.h"
#include "spectrum/frc.h"

namespace lull::lab {

inline constexpr double kPanelLevel = 0.7;  ///< of the brightest light, of full scale
inline constexpr int kNodePx = 8;  ///< places are found at so many px, and lie evenly between
inline constexpr double kDarkPanelNoise = 0.15;  ///< of the noise, where there is no light

/// A panel as `lull stack` would leave it.
struct PanelStack {
  Plane light;
  Plane noise;  ///< half the difference of the half stacks
  spectrum::FrcCurve frc;
};

/// Places of the scene at the nodes of a grid over a panel and a margin around it: at every `step`
/// px from its first column and row, and at its last.
struct PlaceGrid {
  std::vector<int> columns;  ///< px of the panel
  std::vector<int> rows;
  std::vector<Displacement> places;  ///< row by row
};

[[nodiscard]] PlaceGrid place_grid(const MosaicParameters& parameters, const PanelPlan& plan,
                                   const SceneDisc& disc, int step_px, int margin_px = 0);

/// A picture read where a grid of steps of kNodePx lies, between its nodes as well.
/// @param box  of the scene, which `picture` shows.
[[nodiscard]] Plane seen(const PlaceGrid& grid, const Box& box, PlaneView picture);

/// A linear picture of the scene through the air of the panel, which is that of a short exposure
/// with a weaker turbulence (Fried 1966, J. Opt. Soc. Am. 56, 1372), with gain, vignetting, offset
/// and noise. @param brightest  of the scene through the telescope, which becomes kPanelLevel.
[[nodiscard]] PanelStack make_panel(const MosaicParameters& parameters, const PanelPlan& plan,
                                    const SceneDisc& disc, const MosaicScene& scene,
                                    double brightest);

/// What a panel shows, and a few pixels around it; and what the scene has of that.
[[nodiscard]] Box reach_of(const PlaceGrid& grid);
[[nodiscard]] Box part_shown(const PlaceGrid& grid, Size scene);

}  // namespace lull::lab
