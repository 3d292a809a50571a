#pragma once

#include <array>
#include <optional>
#include <string_view>

namespace lull::sky {

/// What can be planned and derotated, seen from Earth.
enum class Body { sun, moon, mercury, venus, mars, jupiter, saturn, uranus, neptune };

inline constexpr std::array kBodies = {Body::sun,    Body::moon,   Body::mercury,
                                       Body::venus,  Body::mars,   Body::jupiter,
                                       Body::saturn, Body::uranus, Body::neptune};

/// "jupiter".
[[nodiscard]] std::string_view body_name(Body body);

/// The body of that name. None of another word.
[[nodiscard]] std::optional<Body> body_of_name(std::string_view name);

/// "Jupiter", "the Moon".
[[nodiscard]] std::string_view body_title(Body body);

/// The ellipsoid, with two equal axes, on which latitudes are counted.
struct Globe {
  double equatorial_km = 0;
  double polar_km = 0;

  /// Polar over equatorial radius.
  [[nodiscard]] double axis_ratio() const { return polar_km / equatorial_km; }
};

/// Archinal et al. 2018, Cel. Mech. Dyn. Astr. 130:22, tables 4 and 5; Sun: IAU 2015 Resolution B3.
[[nodiscard]] Globe globe_of(Body body);

/// Which way planetographic longitudes grow.
enum class LongitudeSense { east, west };

/// West on planets that turn eastward, so that the central meridian grows with time; east on Venus
/// and Uranus, and by custom on the Moon and the Sun, whose central meridian (Carrington longitude
/// L0) falls with time. Archinal et al. 2018, section 2.
[[nodiscard]] LongitudeSense longitude_sense(Body body);

}  // namespace lull::sky
