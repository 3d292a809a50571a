#pragma once

#include <optional>

#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

struct RingFit {
  GlobePlace place;
  LightSpread spread;
};

/// What rings tell of the place of their globe.
struct RingSearch {
  bool radius = true;
  bool angle = false;
};

/// Whether rings are open and lit so that their outlines tell the place of their globe.
[[nodiscard]] bool tell_place(const GlobeShape& shape);

/// Fits a model of the rings to what lies beside the globe: their edges are known in radii of the
/// globe, and the brightness of each ring is free. Reaches further than a limb that they hide.
/// @param start  good to 2% of the radius or so.
/// @return none where the picture shows no rings there.
[[nodiscard]] std::optional<RingFit> fit_rings(PlaneView picture, const GlobeShape& shape,
                                               const GlobePlace& start, RingSearch search);

}  // namespace lull::globe
