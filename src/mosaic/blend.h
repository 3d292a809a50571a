#pragma once

#include <functional>
#include <vector>

#include "align/spline_plane.h"
#include "core/geometry.h"
#include "core/plane.h"
#include "core/progress.h"
#include "merge/luminance.h"
#include "mosaic/brightness.h"
#include "mosaic/moved_light.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"

namespace lull::mosaic {

/// A panel ready to be laid onto the mosaic.
struct Sheet {
  struct Channel {
    align::SplinePlane light;
    std::vector<align::SplinePlane> noise;  ///< one, or none
    float brightest = 0;
    float darkest = 0;
  };

  Size size;
  std::vector<Channel> channels;
};

/// A rectangle of the mosaic: its channels, and which pixels a panel shows (1, else 0).
struct Tile {
  Box box;
  std::vector<merge::Light> channels;
  Plane covered;
};

/// Bytes that a tile with so many panels takes at most while it is made.
[[nodiscard]] double bytes_of_tile(std::size_t channels, bool has_halves, std::size_t panels);

struct Blending {
  Size mosaic;
  std::vector<PanelMap> maps;                       ///< of all panels
  std::vector<PanelIndex> group;                    ///< those that are shown
  std::vector<std::vector<Brightness>> brightness;  ///< for each channel, for each panel
  std::size_t channels = 1;
  bool has_halves = false;
  MovedLight moved = {};
};

/// Lays panels together, tile by tile, without a seam. Fine detail comes from the panel whose edge
/// is furthest, wide shades go over from one to the next through their whole overlap: three bands
/// (Burt & Adelson 1983, ACM Trans. Graphics 2, 217; as weights by bands, Brown & Lowe 2007,
/// section 7). The noise of each panel is laid together in the same way, so that half stacks stay
/// honest. Where light moved, its owner is shown in all bands.
/// Tiles come block by block, each block from left to right or back, so that few panels are needed
/// at a time.
/// @param sheets  from which panels are taken. @param take  receives all tiles.
void blend(const Blending& plan,
           const std::function<std::shared_ptr<const Sheet>(PanelIndex)>& sheets,
           const std::function<void(const Tile&)>& take, const Progress& progress);

}  // namespace lull::mosaic
