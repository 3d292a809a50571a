#pragma once

#include <vector>

#include "globe/globe_view.h"

namespace lull::globe {

/// How the blur changes the light of a globe near its limb: the law of Minnaert under core and
/// halo, as if the limb were straight and the Sun stood behind the observer.
class SpreadLimb {
 public:
  SpreadLimb(double radius_px, double darkening, const LightSpread& spread);

  /// The light under the blur over that without it; more than 1 where the globe is dark.
  [[nodiscard]] double left(double cos_observer) const;

 private:
  double radius_px_;
  std::vector<double> left_;  ///< by the distance from the limb inwards, kStep_px apart
};

}  // namespace lull::globe
