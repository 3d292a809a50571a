#pragma once

#include <cstdint>
#include <memory>

#include "core/plane.h"
#include "lab/mosaic_plan.h"

namespace lull::lab {

/// The Moon limb to limb: cratered highlands and smoother dark maria on a sphere, with the shadows
/// that its relief casts, up to the terminator. Craters go down to a radius of 1.2 px. Holds 8
/// bytes for each pixel of the scene. Any thread.
class MoonGround {
 public:
  /// @param disc  where it lies in the scene, px.
  MoonGround(Size scene, const SceneDisc& disc, std::uint64_t seed);
  ~MoonGround();
  MoonGround(const MoonGround&) = delete;
  MoonGround& operator=(const MoonGround&) = delete;

  /// A part of the scene, shadows of what lies above it included. The Sun stands above the picture.
  /// @param phase_deg  between the Sun and the observer.
  [[nodiscard]] Plane light(const Box& part, double phase_deg) const;

 private:
  class Relief;
  std::unique_ptr<const Relief> relief_;
};

}  // namespace lull::lab
