#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::spectrum {

/// Sums over the frequencies of one ring of two pictures' spectra.
struct RingSums {
  double frequency = 0;  ///< centre of the ring, cycles/px
  double cross = 0;      ///< real part of first* second
  double first = 0;      ///< power
  double second = 0;
  double bins = 0;  ///< of the whole spectrum
};

/// Rings of equal width from 0 to 0.5 cycles/px, of two pictures of one size whose edges are
/// tapered; cropped around their centres where another size transforms faster.
/// @param px_per_ring  pixels of the shorter side for one ring; @param most  rings. At least 8.
[[nodiscard]] std::vector<RingSums> ring_sums(PlaneView first, PlaneView second,
                                              int px_per_ring = 8, int most = 50);

/// The same of each sector of directions by itself: the first around that of rows, all equally
/// wide.
[[nodiscard]] std::vector<std::vector<RingSums>> sector_sums(PlaneView first, PlaneView second,
                                                             int sectors, int px_per_ring,
                                                             int most);

}  // namespace lull::spectrum
