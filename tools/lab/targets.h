#pragma once

#include "lab/parameters.h"

namespace lull::lab {

// What the telescopes of an invented observatory are pointed at, each with the camera that suits
// it, in air of D / r0 = 5.

[[nodiscard]] Parameters moon_close();
[[nodiscard]] Parameters moon_terminator();
[[nodiscard]] Parameters mars();
[[nodiscard]] Parameters jupiter();
[[nodiscard]] Parameters saturn();
[[nodiscard]] Parameters sun_surface();
[[nodiscard]] Parameters sun_limb();

/// A disc cut by two sides of the frame.
[[nodiscard]] Parameters disc_cut();

/// A limb that runs along a side of the frame.
[[nodiscard]] Parameters limb_along();

}  // namespace lull::lab
