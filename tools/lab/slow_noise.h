#pragma once

#include <initializer_list>
#include <vector>

#include "lab/random.h"

namespace lull::lab {

/// A smooth random function of time: a sum of sinusoids of random phase, evenly spread over
/// frequencies up to `fastest_hz`, of unit variance.
class SlowNoise {
 public:
  SlowNoise(std::initializer_list<std::uint64_t> key, double fastest_hz);

  [[nodiscard]] double at(double time_s) const;

 private:
  struct Wave {
    double rad_per_s = 0;
    double phase_rad = 0;
  };

  std::vector<Wave> waves_;
};

}  // namespace lull::lab
