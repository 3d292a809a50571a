#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "lab/parameters.h"

namespace lull::lab {

using CoverLight = std::array<double, 3>;  ///< red, green, blue

/// The invented cover of a globe: bands or deserts. @param latitude,longitude  rad.
[[nodiscard]] CoverLight cover_at(const SceneParameters& scene, double latitude, double longitude,
                                  std::uint64_t seed);

/// The same drawn once, and read between its samples, which are a quarter of a degree apart.
class CoverMap {
 public:
  CoverMap(const SceneParameters& scene, std::uint64_t seed);

  [[nodiscard]] CoverLight at(double latitude, double longitude) const;

 private:
  std::vector<CoverLight> samples_;  ///< rows from the south pole to the north pole
};

}  // namespace lull::lab
