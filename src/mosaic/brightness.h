#pragma once

#include <vector>

#include "mosaic/panel.h"
#include "mosaic/panel_map.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// How the light of a panel becomes that of the mosaic: (value + offset) x gain x (1 + near r^2 +
/// far r^4), r being the distance from the panel's middle, 1 at a corner.
struct Brightness {
  double gain = 1;
  double offset = 0;  ///< thin cloud and haze, in units of the panel's values
  double near = 0;    ///< what vignetting is left; the same for all panels
  double far = 0;

  [[nodiscard]] double factor_at(double radius2) const {
    return gain * (1 + radius2 * (near + radius2 * far));
  }
};

/// What brings the panels of a group to one light, by least squares over all places that two of
/// them show (as gain compensation, Brown & Lowe 2007, section 6, with offset and vignetting
/// besides), each channel by itself. What changed otherwise, as shadows at the terminator, counts
/// less (Cauchy). The mean of the gains stays 1.
/// @return for each channel, for each panel.
[[nodiscard]] std::vector<std::vector<Brightness>> brightness_of(
    const std::vector<Sketch>& sketches, const std::vector<PanelMap>& maps,
    const std::vector<PanelIndex>& group, const std::vector<Link>& links);

}  // namespace lull::mosaic
