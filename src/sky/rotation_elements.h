#pragma once

#include "sky/body.h"
#include "sky/vector.h"

namespace lull::sky {

/// Systems in which longitudes are counted. Jupiter has three: I for clouds within about 10 degrees
/// of the equator, II for the others, III for the magnetic field. Every other body has one only,
/// which is called III here (Saturn) or simply its own.
enum class LongitudeSystem { one = 1, two, three };

/// 1 to 3.
[[nodiscard]] constexpr int number_of(LongitudeSystem system) { return static_cast<int>(system); }

/// How a body stands and has turned: pole on the axes of the ICRS, and the angle along its equator
/// from the node on the ICRS equator to the prime meridian, degrees.
struct RotationElements {
  double pole_ra_deg = 0;
  double pole_dec_deg = 0;
  double meridian_deg = 0;
};

/// Archinal et al. 2018, Cel. Mech. Dyn. Astr. 130:22 (IAU working group, 2015 report); the Moon by
/// the 2009 report's terms (Archinal et al. 2011, Cel. Mech. Dyn. Astr. 109, 101), good to 0.01
/// degrees or so. Terms below 0.01 degrees are left out, on the Moon below 0.0005. Jupiter's
/// Systems I and II: Davies et al. 1986.
/// @param days  since J2000.0, barycentric dynamical time, when the light left.
[[nodiscard]] RotationElements rotation_elements(Body body, LongitudeSystem system, double days);

/// From the axes of the ICRS to those of the body: x to the prime meridian, z to the north pole.
[[nodiscard]] Rotation body_axes(const RotationElements& elements);

/// The pole about which longitudes are counted: of the ICRS axes.
[[nodiscard]] Vector pole_of(const RotationElements& elements);

}  // namespace lull::sky
