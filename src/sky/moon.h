#pragma once

#include "sky/observer.h"

namespace lull::sky {

/// What is special to the Moon. Longitudes are selenographic: east is the side of Mare Crisium.
struct MoonFace {
  double libration_longitude_deg = 0;  ///< positive: the east limb is turned in
  double libration_latitude_deg = 0;   ///< positive: the north limb is turned in
  /// Of the morning terminator at the equator, counted westward: 270 new, 0 first quarter, 90 full,
  /// 180 last quarter.
  double colongitude_deg = 0;
  double sun_latitude_deg = 0;
  double sun_longitude_deg = 0;       ///< east, within [-180, 180)
  double morning_terminator_deg = 0;  ///< east longitude where the Sun rises at the equator
  double evening_terminator_deg = 0;  ///< where it sets

  /// How far the middle of the face is turned away from its mean.
  [[nodiscard]] double libration_deg() const;

  /// Its direction on the face, from north through selenographic east: where the limb is turned in.
  [[nodiscard]] double libration_direction_deg() const;
};

/// Optical and physical libration; with a site also that of the observer's place (up to 1 degree).
[[nodiscard]] MoonFace moon_face(const Observer& observer);

}  // namespace lull::sky
