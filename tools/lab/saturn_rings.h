#pragma once

namespace lull::lab {

/// Saturn's rings at one distance from its axis.
struct SaturnRing {
  double light = 0;  ///< of the side in sunlight, over the brightest cloud
  double unlit = 0;  ///< of the other side
  double hides = 0;  ///< part of the light behind it
};

inline constexpr double kRingsEnd = 2.27;  ///< equatorial radii

/// An invented profile with edges where the rings C, B and A and the gaps of Cassini and Encke have
/// them (from memory). @param radius  equatorial radii.
[[nodiscard]] SaturnRing saturn_ring(double radius);

}  // namespace lull::lab
