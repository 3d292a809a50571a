#pragma once

#include <cstdint>
#include <vector>

#include "core/plane.h"
#include "core/samples.h"

namespace lull::quality {

/// A frame summed over 2 x 2 blocks, in stored units: 16-bit integers when the samples are bytes,
/// float otherwise. Only one of the two is filled.
struct HalfPlane {
  int width_px = 0;
  int height_px = 0;
  std::vector<std::uint16_t> integers;
  Plane floats;

  [[nodiscard]] bool exact() const { return floats.empty(); }

  [[nodiscard]] const std::uint16_t* integer_row(int y) const {
    return integers.data() + static_cast<std::ptrdiff_t>(y) * width_px;
  }
};

/// Sums of 2 x 2 blocks; an odd last column or row is left out. Reuses the memory of `half`.
void halve(SampleView samples, HalfPlane& half);

/// Sums of 2 x 2 blocks of the half plane (4 x 4 pixels). Reuses `quarter` when the size fits.
void quarter(const HalfPlane& half, Plane& quarter);

/// The half plane as float. Reuses `out` when the size fits.
void to_plane(const HalfPlane& half, Plane& out);

/// Sums of 2 x 2 blocks of a plane. Reuses `out` when the size fits.
void halve(PlaneView plane, Plane& out);

}  // namespace lull::quality
