#pragma once

#include <vector>

#include "core/geometry.h"
#include "mosaic/panel.h"

namespace lull::mosaic {

/// One point of the scene as two panels show it, px of each.
struct Tie {
  Displacement first;
  Displacement second;
  double weight = 1;  ///< of its error, 1 / px^2
};

/// Two panels that overlap.
struct Link {
  PanelIndex first = 0;
  PanelIndex second = 0;
  std::vector<Tie> ties;
};

}  // namespace lull::mosaic
