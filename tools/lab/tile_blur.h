#pragma once

#include <functional>
#include <vector>

#include "core/plane.h"
#include "spectrum/fft.h"

namespace lull::lab {

/// Blurs a scene by a point spread function that changes over it: overlapping parts of the scene
/// are each convolved with the PSF of their centre, and blended afterwards (blending before would
/// show as bands on even ground, since PSFs differ in their centroids). The result are the
/// coefficients of a cubic B-spline through the blurred picture, and pixels have integrated the
/// light over their area.
class TileBlur {
 public:
  struct Tile {
    int middle_x = 0;  ///< place in the scene
    int middle_y = 0;
    spectrum::Spectrum spectrum;
  };

  struct Workspace {
    Plane tile;
    spectrum::Spectrum spectrum;
    std::vector<spectrum::Fft> fft;  ///< one, made at first use
  };

  /// @param spacing  distance of the tiles' centres. Tiles without light are left out.
  TileBlur(const Plane& scene, int spacing, int psf_side);

  [[nodiscard]] const std::vector<Tile>& tiles() const { return tiles_; }

  /// Adds a tile, blurred, to `out`, which is as large as the scene.
  /// @param psf  psf_side x psf_side, its centre at (0, 0), negative coordinates wrapped around.
  void add(const Tile& tile, const Plane& psf, Plane& out, Workspace& workspace) const;

  /// Whether a tile shows something of a box of the scene.
  [[nodiscard]] bool reaches(const Tile& tile, const Box& box) const;

 private:
  [[nodiscard]] Plane cut(const Plane& scene, int middle_x, int middle_y) const;

  int spacing_;
  int psf_side_;
  Size tile_size_;
  std::vector<Tile> tiles_;
};

}  // namespace lull::lab
