#pragma once

#include <span>
#include <vector>

#include "core/geometry.h"
#include "mosaic/panel_map.h"

namespace lull::mosaic {

/// Places of a panel for each pixel of a part of the mosaic: exact on a grid of 8 px, linear
/// between.
class Places {
 public:
  /// @param origin  where the first pixel of the part lies in the mosaic.
  Places(const PanelMap& map, Displacement origin, Size size);

  /// Of the first pixels of row `y`, as many as `out` holds.
  void row(int y, std::span<Displacement> out) const;

 private:
  int columns_ = 0;
  std::vector<Displacement> nodes_;
};

}  // namespace lull::mosaic
