#pragma once

#include <vector>

#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

/// How fast clouds run eastward over the axes of longitude system III, rad/s.
/// Jupiter: the rates of Systems I and II (sky/rotation_elements.h), with a
/// passage from 8 to 12 degrees of latitude in between; 0 for other bodies.
[[nodiscard]] double cloud_drift_rad_per_s(sky::Body body, double planetographic_latitude_rad);

/// One picture of a globe.
struct GlobePicture {
  GlobeView view;
  double later_s = 0;  ///< than the moment asked for
  double weight = 1;
  double gain = 1;                  ///< on its samples, so that all pictures are as bright
  std::vector<PlaneView> planes{};  ///< channels and others of the same size, treated alike
};

struct Derotated {
  std::vector<Plane> planes{};
  /// Of each pixel: the part of the pictures' weight that counts there; 1 where
  /// all of them do.
  Plane share{};
};

/// Pictures of a turning globe as they would be at one moment. Each pixel of
/// the globe goes through the point of the surface that it shows; samples count
/// less towards the limb of their picture, and not where the point is on the
/// far side. Their brightness becomes that which the point has at the moment
/// (limb darkening, terminator). At the very limb, and beside the globe,
/// pictures are averaged as they are.
/// @param at_moment  the globe at the moment, and where it shall lie in the
/// result.
/// @param darkening  Minnaert's k.
[[nodiscard]] Derotated derotate(const std::vector<GlobePicture>& pictures,
                                 const GlobeView& at_moment, Size size, sky::Body body,
                                 double darkening);

}  // namespace lull::globe
