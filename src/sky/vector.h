#pragma once

#include <array>
#include <cmath>
#include <numbers>

namespace lull::sky {

inline constexpr double kDegree = std::numbers::pi / 180;
inline constexpr double kArcsecPerRadian = 180 * 3600 / std::numbers::pi;

/// A direction or a place in space, in the unit and along the axes that its name gives.
struct Vector {
  std::array<double, 3> at{};

  [[nodiscard]] double dot(const Vector& other) const {
    return at[0] * other.at[0] + at[1] * other.at[1] + at[2] * other.at[2];
  }

  [[nodiscard]] Vector cross(const Vector& other) const {
    return {{at[1] * other.at[2] - at[2] * other.at[1], at[2] * other.at[0] - at[0] * other.at[2],
             at[0] * other.at[1] - at[1] * other.at[0]}};
  }

  [[nodiscard]] double length() const { return std::sqrt(dot(*this)); }

  [[nodiscard]] Vector operator*(double factor) const {
    return {{factor * at[0], factor * at[1], factor * at[2]}};
  }

  [[nodiscard]] Vector operator+(const Vector& other) const {
    return {{at[0] + other.at[0], at[1] + other.at[1], at[2] + other.at[2]}};
  }

  [[nodiscard]] Vector operator-(const Vector& other) const { return *this + other * -1; }

  [[nodiscard]] Vector unit() const { return *this * (1 / length()); }

  /// Of its x and y, from x towards y, rad.
  [[nodiscard]] double longitude_rad() const { return std::atan2(at[1], at[0]); }

  /// Above the plane of x and y, rad.
  [[nodiscard]] double latitude_rad() const { return std::atan2(at[2], std::hypot(at[0], at[1])); }
};

/// A unit vector by its longitude and latitude.
[[nodiscard]] inline Vector direction(double longitude_rad, double latitude_rad) {
  return {{std::cos(latitude_rad) * std::cos(longitude_rad),
           std::cos(latitude_rad) * std::sin(longitude_rad), std::sin(latitude_rad)}};
}

/// The angle between two vectors, rad; exact for small ones too.
[[nodiscard]] inline double angle_between(const Vector& a, const Vector& b) {
  return std::atan2(a.cross(b).length(), a.dot(b));
}

/// A rotation from one set of axes to another.
struct Rotation {
  std::array<Vector, 3> rows{{{{1, 0, 0}}, {{0, 1, 0}}, {{0, 0, 1}}}};

  [[nodiscard]] Vector operator*(const Vector& v) const {
    return {{rows[0].dot(v), rows[1].dot(v), rows[2].dot(v)}};
  }

  /// The way back.
  [[nodiscard]] Rotation inverse() const {
    Rotation out;
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j) out.rows[i].at[j] = rows[j].at[i];
    return out;
  }
};

/// An angle within [0, 360), degrees.
[[nodiscard]] inline double full_turn(double degrees) {
  const double rest = std::fmod(degrees, 360.0);
  return rest < 0 ? rest + 360 : rest;
}

/// An angle within [-180, 180), degrees.
[[nodiscard]] inline double half_turn(double degrees) { return full_turn(degrees + 180) - 180; }

}  // namespace lull::sky
