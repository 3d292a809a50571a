#pragma once

#include <vector>

#include "mosaic/panel_map.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// What is known of bends before any is measured: a random field over the panel (Gauss-Markov).
struct BendPrior {
  double variance_px2 = 0.5;  ///< of each axis
  double length_px = 100;     ///< over which it stays alike
};

/// Smooth bends of the panels of a group by which their ties meet, on top of what maps hold: the
/// most likely ones given the ties with their errors and the prior, for all panels at once, by
/// conjugate gradients. Where a panel overlaps no other it goes back to no bend.
/// @param anchors  of panels of the group; their places meet the mosaic's likewise.
/// @return rms of what is left of the ties' gaps, robust, px.
double bend_panels(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
                   const std::vector<Link>& links, const BendPrior& prior,
                   const std::vector<Anchor>& anchors = {});

}  // namespace lull::mosaic
