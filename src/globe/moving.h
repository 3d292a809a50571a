#pragma once

#include <vector>

#include "globe/derotate.h"

namespace lull::globe {

/// What moves against the globe and the sky around it, as moons and their shadows do: places where
/// a picture, brought to the moment, differs from the median of all by more than air and noise make
/// of clouds (an eighth of the globe's brightness on it, a twentieth beside it), and what lies
/// around them. The limb itself is left out, and rings: there pictures differ by how well they were
/// fitted, and by their sharpness.
/// @param pictures  at least two; only their first planes are compared. @param brightness  of the
/// globe, less the sky, to which their gains bring them. @param blur_px  of the limb.
/// @return 1 there, 0 elsewhere, in between at the borders.
[[nodiscard]] Plane moving_places(const std::vector<GlobePicture>& pictures,
                                  const Derotation& nothing, const GlobeView& at_moment,
                                  double brightness, double blur_px);

}  // namespace lull::globe
