#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>

namespace lull::capture {

/// The values of a FITS image that are not words already.
struct FitsRange {
  double lowest = 0;
  double highest = 0;
  bool integral = true;        ///< no value has a fraction
  std::int64_t undefined = 0;  ///< NaN, or marked as blank

  void add(std::span<const float> values);

  /// A warning where nearly all values are so small beside the highest that 16 bits make them one
  /// level; else empty.
  [[nodiscard]] std::string warning() const;

 private:
  static constexpr std::size_t kOctaves = 300;  ///< all powers of two that a float reaches

  std::array<std::int64_t, kOctaves> by_octave_{};  ///< positive values
};

/// Replaces what is not finite by a mean of the nearest values in the row and the column, each
/// weighted by the inverse of its distance: a hole would be a dark object with edges.
/// @param plane  rows of `width` values. @param step  2: a mosaic, whose colours stay apart.
void fill_undefined(std::span<float> plane, int width, int step);

}  // namespace lull::capture
