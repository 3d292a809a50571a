#pragma once

#include <optional>
#include <vector>

#include "globe/same_face.h"

namespace lull::globe {

/// How the sky lies in pictures.
struct Orientation {
  double north_clockwise_rad = 0;  ///< from the top of the picture
  bool mirrored = false;

  [[nodiscard]] Orientation opposite() const;

  [[nodiscard]] Orientation mirror_image() const { return {north_clockwise_rad, !mirrored}; }

  /// From the top of the picture to a pole of that position angle, rad.
  [[nodiscard]] double clockwise(double position_angle_deg) const;
};

/// A face whose angle is not known.
struct DatedFace {
  Face face{};
  double pole_deg = 0;        ///< position angle of its north pole
  bool turned_about = false;  ///< the camera was turned by 180 degrees against the others

  [[nodiscard]] Face placed(const Orientation& orientation) const;
};

/// Whether faces are compared by all their detail, or without what is the same along latitudes.
enum class Compared { detail, features };

/// How alike faces are when they lie as said and the globe has turned as it does: the mean over up
/// to five of them, against the one in the middle.
[[nodiscard]] double likeness_of_series(const std::vector<DatedFace>& faces,
                                        const Orientation& orientation, sky::Body body,
                                        Compared compared);

/// Likenesses are those of features.
struct FoundOrientation {
  Orientation orientation{};
  double likeness = 0;
  double of_opposite = 0;  ///< turned by 180 degrees: detail moves against the globe's turn
  double of_mirrored = 0;  ///< of the best one that is mirrored the other way

  /// Whether detail tells which way the globe turns.
  [[nodiscard]] bool is_certain() const;
  /// And whether the picture is mirrored: a globe that is seen from above its equator only is the
  /// same when it is mirrored and turned by 180 degrees.
  [[nodiscard]] bool tells_mirrors() const;
};

/// From how detail moves while the globe turns, and from belts, flattening and phase. Places of the
/// faces may be rough.
/// @param faces  at least two, in the order of time.
[[nodiscard]] FoundOrientation find_orientation(const std::vector<DatedFace>& faces,
                                                sky::Body body);

/// Whether one likeness of features is clearly more than another.
[[nodiscard]] bool is_clearly_more(double likeness, double than);

}  // namespace lull::globe
