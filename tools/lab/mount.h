#pragma once

#include "core/geometry.h"
#include "lab/parameters.h"
#include "lab/slow_noise.h"

namespace lull::lab {

/// Where the telescope points: drift, periodic error of the drive, wander, shake, jumps, gusts of
/// wind, rotation of the field. All of it follows from the seed and the time.
class Mount {
 public:
  /// @param duration_s  of the capture; the drift is 0 at half of it.
  Mount(const MountParameters& parameters, std::uint64_t seed, double duration_s);

  /// Displacement of the picture, px.
  [[nodiscard]] Displacement at(double time_s) const;

  /// Rotation of the picture around the centre of the frame, rad, from +x towards +y.
  [[nodiscard]] double turn_rad(double time_s) const;

 private:
  struct Kick {
    double time_s = 0;
    Displacement size;
  };

  [[nodiscard]] Displacement jump(double time_s) const;
  [[nodiscard]] Displacement gust(double time_s) const;

  MountParameters parameters_;
  double middle_s_;
  double periodic_phase_;
  SlowNoise shake_x_;
  SlowNoise shake_y_;
  SlowNoise wander_x_;
  SlowNoise wander_y_;
  std::vector<Kick> jumps_;  ///< a jump lasts until the next
  std::vector<Kick> gusts_;
};

}  // namespace lull::lab
