#pragma once

#include "core/plane.h"

namespace lull::spectrum {

/// A picture on a larger canvas, on which it goes on beyond its edges.
struct Extended {
  Plane plane;
  Box inside;  ///< where the picture is
};

/// The picture as in a mirror beyond its edges, on a canvas whose size transforms fast.
[[nodiscard]] Extended mirrored(PlaneView picture);

/// The picture as in a mirror, with so many pixels more to the left, above, to the right and below.
/// @param inside  where the picture lies on the canvas. @param canvas  holds it.
[[nodiscard]] Plane mirrored(PlaneView picture, Size canvas, const Box& inside);

/// The picture on a canvas whose size transforms fast, with value and slope going on smoothly: it
/// is turned about the sample at the edge, e + (e - mirrored), after the anti-reflective boundary
/// of Serra-Capizzano 2003, SIAM J. Sci. Comput. 25, 1307. A mirror has a kink there, which
/// sharpening makes a line. Farther out the picture fades into its mean, so that the canvas closes
/// on itself.
[[nodiscard]] Extended continued(PlaneView picture);

}  // namespace lull::spectrum
