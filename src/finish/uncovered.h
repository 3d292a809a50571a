#pragma once

#include <vector>

#include "core/plane.h"

namespace lull::finish {

/// A picture that goes on smoothly where it shows nothing, so that no edge is restored there: from
/// what is covered, each place filled from the finest of ever coarser pictures that reaches it
/// ("pull-push", Gortler et al. 1996, Proc. SIGGRAPH, 43).
/// @param covered  1 where the picture shows something, else 0. Equal sizes.
[[nodiscard]] Plane continued_over(PlaneView picture, PlaneView covered);

/// 0 where nothing is shown.
void clear_uncovered(Plane& picture, PlaneView covered);

}  // namespace lull::finish
