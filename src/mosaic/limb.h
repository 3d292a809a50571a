#pragma once

#include <optional>
#include <vector>

#include "core/progress.h"
#include "mosaic/limb_curve.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"
#include "mosaic/readable.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// A place at which a panel shows the limb.
struct LimbPlace {
  PanelIndex panel = 0;
  Displacement place;  ///< px of the panel
};

/// The limb of the Sun, as panels show it.
struct Limb {
  std::vector<LimbPlace> places;
  /// As they showed it before any was moved onto it. A little may as well come from what the air
  /// has bent: then the disc is taken as round.
  Flattening flattening;
};

/// The limb in all panels of a group, see limb_places(); without places where they show no edge of
/// a disc, see rough_limb().
[[nodiscard]] Limb find_limb(const std::vector<Sketch>& sketches, const std::vector<PanelMap>& maps,
                             const std::vector<PanelIndex>& group, Shelf<Readable>& shelf,
                             const Progress& progress);

/// The limb as its places lie now.
[[nodiscard]] std::optional<LimbFit> limb_of(const Limb& limb, const std::vector<PanelMap>& maps);

/// Each place should lie on the limb as it is now, wherever along it. None where there is no limb.
[[nodiscard]] std::vector<Anchor> limb_anchors(const Limb& limb, const std::vector<PanelMap>& maps);

}  // namespace lull::mosaic
