#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/plane.h"

namespace lull::judge {

/// What is known of the panels that lull-sim mosaic made.
struct MosaicTruth {
  struct Panel {
    std::string file;
    std::vector<Displacement> border;  ///< closed, places of the scene all around the panel
  };

  Plane picture;  ///< the scene as a perfect telescope shows it, at the scale of the panels
  std::vector<Panel> panels;

  /// Whether some panel shows that place of the scene.
  [[nodiscard]] bool shown(double x, double y) const;
};

/// From the folder into which lull-sim wrote truth.json and truth.fits. @throws InputError.
[[nodiscard]] MosaicTruth read_mosaic_truth(const std::filesystem::path& folder);

}  // namespace lull::judge
