#pragma once

#include <vector>

#include "core/geometry.h"
#include "mosaic/limb_curve.h"
#include "mosaic/panel_map.h"
#include "mosaic/readable.h"

namespace lull::mosaic {

/// Where a panel shows the limb: where light falls most steeply across it, averaged over 16 px
/// along it. Places outside which light is more than half as strong are left
/// out.
/// @param curve  the limb within 16 px, in the mosaic. @return px of the panel, 16 px apart.
[[nodiscard]] std::vector<Displacement> limb_places(const Readable& panel, const PanelMap& map,
                                                    const LimbCurve& curve);

}  // namespace lull::mosaic
