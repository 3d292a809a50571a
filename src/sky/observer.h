#pragma once

#include <optional>

#include "sky/body.h"
#include "sky/moment.h"
#include "sky/vector.h"

namespace lull::sky {

/// A place on Earth, WGS 84; north and east are positive.
struct Site {
  double latitude_deg = 0;
  double longitude_deg = 0;
  double height_m = 0;
};

/// Who looks, and when: the Earth's place, motion and orientation, worked out once for all bodies.
/// About 0.1 ms to make.
class Observer {
 public:
  /// @param site  none: from the middle of the Earth.
  explicit Observer(Utc utc, const std::optional<Site>& site = std::nullopt);

  [[nodiscard]] const Moment& moment() const { return moment_; }

  [[nodiscard]] const std::optional<Site>& site() const { return site_; }

  /// From the axes of the ICRS to the true equator and equinox of the moment.
  [[nodiscard]] const Rotation& to_date() const { return to_date_; }

  /// Local apparent sidereal time, rad.
  [[nodiscard]] double sidereal_rad() const { return sidereal_rad_; }

  /// From the centre of the planetary system, along the axes of the ICRS.
  [[nodiscard]] const Vector& place_au() const { return place_au_; }

  /// In units of the speed of light.
  [[nodiscard]] const Vector& velocity() const { return velocity_; }

  [[nodiscard]] const Vector& earth_au() const { return earth_au_; }

  [[nodiscard]] const Vector& earth_au_per_day() const { return earth_au_per_day_; }

  [[nodiscard]] const Vector& sun_au() const { return sun_au_; }

 private:
  void stand_on(const Site& site, double sidereal_greenwich_rad);

  Moment moment_;
  std::optional<Site> site_;
  Rotation to_date_;
  double sidereal_rad_ = 0;
  Vector place_au_;
  Vector velocity_;
  Vector earth_au_;
  Vector earth_au_per_day_;
  Vector sun_au_;
};

}  // namespace lull::sky
