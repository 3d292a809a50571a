#pragma once

#include "core/geometry.h"
#include "core/plane.h"
#include "core/turn.h"

namespace lull::finish {

/// How a picture is held before the eye: flipped first, then turned.
struct Pose {
  Turn flip = Turn::none;
  double rotation_deg = 0;  ///< clockwise

  [[nodiscard]] bool changes() const { return flip != Turn::none || rotation_deg != 0; }
};

/// Of a picture in that pose: turned by quarters it keeps its pixels, otherwise the smallest
/// upright frame around it.
[[nodiscard]] Size posed_size(Size size, const Pose& pose);

/// Whether that pose moves samples and changes none: flips and quarter turns.
[[nodiscard]] bool keeps_samples(const Pose& pose);

/// The part of a picture that a part of the posed picture shows. keeps_samples(pose).
[[nodiscard]] Box unposed(const Box& part, Size picture, const Pose& pose);

/// The picture in that pose. Flips and quarter turns move samples and change none; other angles are
/// read between the samples by cubic B-splines (align::SplinePlane).
/// @param outside  what the corners show that the turned picture leaves open.
[[nodiscard]] Plane posed(PlaneView picture, const Pose& pose, float outside);

}  // namespace lull::finish
