#pragma once

#include <algorithm>
#include <optional>

#include "sky/aspect.h"
#include "sky/vector.h"

namespace lull::globe {

/// How a globe is turned towards the observer and the Sun, in axes of its own:
/// z to its north pole, x to its prime meridian, y to 90 degrees of eastward
/// longitude; lengths in equatorial radii.
struct GlobeShape {
  double axis_ratio = 1;  ///< polar over equatorial radius
  sky::Vector to_observer{{1, 0, 0}};
  sky::Vector to_sun{{1, 0, 0}};
  double ring_inner = 0;  ///< edge of rings in the plane of the equator
  double ring_outer = 0;  ///< likewise; 0: no rings

  [[nodiscard]] bool is_ringed() const { return ring_outer > 0; }
};

[[nodiscard]] GlobeShape shape_of(sky::Body body, const sky::Aspect& aspect);

/// Where the globe lies in a picture.
struct GlobePlace {
  double x_px = 0;
  double y_px = 0;
  double radius_px = 1;           ///< equatorial
  double pole_clockwise_rad = 0;  ///< from the top of the picture to its north pole
  bool mirrored = false;          ///< east and west are exchanged

  /// The same in pixels whose side is so many of these.
  [[nodiscard]] GlobePlace in_pixels_of(double side_px) const;
};

/// Sigma of the halo over that of the core, usually (stacks of the lab).
inline constexpr double kUsualHalo = 4;

/// How the light of a picture is spread: a core, and around it a halo with this share of it.
struct LightSpread {
  double core_px = 1;  ///< sigma
  double halo_share = 0;

  [[nodiscard]] double halo_px() const { return kUsualHalo * core_px; }

  /// Sigma of the one Gaussian that stands for both, about: that of the core where the halo is
  /// weak.
  [[nodiscard]] double width_px() const {
    constexpr double kOfMean = 0.7;
    return std::max(core_px, kOfMean * ((1 - halo_share) * core_px + halo_share * halo_px()));
  }
};

/// Orthographic: the distance of planets is over 1000 of their radii.
class GlobeView {
 public:
  GlobeView(const GlobeShape& shape, const GlobePlace& place);

  /// What a pixel shows.
  struct Seen {
    sky::Vector point;    ///< on the surface, axes of the globe
    double cos_observer;  ///< of the angle between the surface's normal and the
                          ///< observer
    double cos_sun;       ///< and the Sun; below 0: night
  };

  /// None beside the globe.
  [[nodiscard]] std::optional<Seen> seen_at(double x_px, double y_px) const;

  /// Whether a pixel shows the globe, for less than seen_at() costs.
  [[nodiscard]] bool holds(double x_px, double y_px) const {
    return crossing(x_px, y_px).rest >= 0;
  }

  /// Where a point of the surface lies in the picture.
  struct Shown {
    double x_px = 0;
    double y_px = 0;
    double cos_observer = 1;  ///< below 0: on the far side
    double cos_sun = 1;
  };

  [[nodiscard]] Shown shown(const sky::Vector& point) const;

  /// Of the picture's plane, in equatorial radii from the globe's centre: to
  /// the globe's east and to its pole.
  struct InPlane {
    double across;
    double up;
  };

  [[nodiscard]] InPlane in_plane(double x_px, double y_px) const;

  /// In the axes of the globe.
  [[nodiscard]] sky::Vector in_space(const InPlane& at) const {
    return across_ * at.across + up_ * at.up;
  }

  /// Only its x_px and y_px.
  [[nodiscard]] Shown shown_in_plane(const InPlane& at) const;

  [[nodiscard]] const GlobeShape& shape() const { return shape_; }

  [[nodiscard]] const GlobePlace& place() const { return place_; }

 private:
  // Of a line of sight: from a point of the picture's plane so far towards the observer as w, where
  // a w^2 + 2 b w + c = 0.
  struct Crossing {
    sky::Vector from;
    double a;
    double b;
    double rest;  ///< b^2 - a c; below 0: it passes beside the globe
  };

  [[nodiscard]] Crossing crossing(double x_px, double y_px) const;
  [[nodiscard]] sky::Vector normal_at(const sky::Vector& point) const;

  GlobeShape shape_;
  GlobePlace place_;
  sky::Vector across_;  ///< of the globe's own axes: to the right when the pole is up
  sky::Vector up_;
  // The same two in the picture, px, +y down.
  double across_x_, across_y_, up_x_, up_y_;
};

/// Minnaert's law (1941, ApJ 93, 403): brightness in proportion to (cos sun)^k
/// (cos observer)^(k - 1); 0 at night and on the far side.
[[nodiscard]] double minnaert(double cos_sun, double cos_observer, double darkening);

/// How the logarithm of this brightness grows with the darkening; where there is light.
[[nodiscard]] double minnaert_slope(double cos_sun, double cos_observer);

/// A point moved eastward about the pole.
[[nodiscard]] sky::Vector moved_east(const sky::Vector& point, double angle_rad);

/// From 0 at `low` to 1 at `high`, smoothly.
[[nodiscard]] double smooth_rise(double value, double low, double high);

/// Planetographic latitude of a point of the surface, rad.
[[nodiscard]] double planetographic_latitude_rad(const sky::Vector& point, double axis_ratio);

}  // namespace lull::globe
