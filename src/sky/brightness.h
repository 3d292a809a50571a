#pragma once

#include "sky/aspect.h"

namespace lull::sky {

/// Mean brightness of the sunlit disc in V, magnitudes a square arcsecond, as at full phase: from
/// the geometric albedo and the distance from the Sun. Towards a terminator and a limb it is less.
/// Albedos: Mallama, Krobusek & Pavlov 2017, Icarus 282, 19; the Moon 0.12; the Sun -26.76 (all
/// from memory, good to a tenth of a magnitude).
[[nodiscard]] double surface_brightness_mag(Body body, const Aspect& aspect);

/// Photons of this brightness a second, a square metre, a nanometre and a square arcsecond, above
/// the air: 1000 photons a second, square centimetre and angstrom at V = 0 (common practice, no
/// source).
[[nodiscard]] double photon_rate(double mag_per_square_arcsec);

}  // namespace lull::sky
