#pragma once

#include <cstdint>

namespace lull::lab {

/// Smooth random function of space, about -1 to 1, with features of unit size: random values on a
/// lattice, blended by a quintic.
[[nodiscard]] double lattice_noise(double x, double y, double z, std::uint64_t seed);

/// Sum of it over octaves, each half as large and `roughness` times as strong as the one before.
[[nodiscard]] double fractal_noise(double x, double y, double z, int octaves, double roughness,
                                   std::uint64_t seed);

}  // namespace lull::lab
