#pragma once

#include "globe/derotate.h"

namespace lull::globe {

/// Correlation of the detail of two pictures, each brought to the moment of the
/// first, within 70% of the radius and at a quarter of the pixels. The mean
/// brightness and the limb darkening are left out. 0 where there is no detail.
[[nodiscard]] double likeness(const GlobePicture& reference, const GlobePicture& other,
                              sky::Body body, double darkening);

/// Whether the other picture is like the first only when it is turned by 180
/// degrees.
[[nodiscard]] bool is_upside_down(const GlobePicture& reference, const GlobePicture& other,
                                  sky::Body body, double darkening);

}  // namespace lull::globe
