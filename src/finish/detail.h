#pragma once

#include <vector>

#include "core/plane.h"
#include "finish/blur.h"
#include "finish/radial_filter.h"
#include "stack/frc.h"

namespace lull::finish {

/// What the stack says of itself, from which the strength of the restoration follows.
struct StackEvidence {
  PlaneView first_half;  ///< the two half stacks, sizes as the picture
  PlaneView second_half;
  const stack::FrcCurve& frc;
  Blur blur;  ///< to be undone
};

struct DetailResult {
  Plane picture;
  std::vector<FilterPoint> gains;
};

/// The Wiener filter C^2 / transfer, where C^2 = 2 F / (1 + F) is the squared correlation of the
/// whole stack with the truth (Rosenthal & Henderson 2003): what the half stacks do not share is
/// not raised. Without a resolution it is 1 everywhere.
[[nodiscard]] std::vector<FilterPoint> wiener_filter(const stack::FrcCurve& frc, const Blur& blur);

/// Restores detail by that filter. What it adds is split into wavelet planes, and coefficients that
/// do not stand out of the noise of their plane, measured on the difference of the half stacks, are
/// left as they were. Total flux is kept. A picture whose halves share nothing comes back
/// unchanged.
[[nodiscard]] DetailResult restore_detail(PlaneView picture, const StackEvidence& evidence);

}  // namespace lull::finish
