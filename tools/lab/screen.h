#pragma once

#include <cstdint>
#include <vector>

#include "core/plane.h"
#include "lab/pupil.h"

namespace lull::lab {

/// Best plane through the phase over a pupil, rad per grid step.
struct Tilt {
  double x = 0;
  double y = 0;
};

/// A screen of turbulent phase: von Karman spectrum 0.0229 r0^(-5/3) (f^2 + 1 / L0^2)^(-11/6), by
/// Fourier synthesis on a periodic grid, and below its lowest frequency by four rings of
/// subharmonics (Lane, Glindemann & Dainty 1992, Waves in Random Media 2, 209), which are not
/// periodic. Lengths are in grid steps.
class PhaseScreen {
 public:
  /// @param side  a power of two.
  /// @param r0_steps  Fried's length, > 0.
  /// @param outer_scale_steps  0: infinite (Kolmogorov).
  PhaseScreen(int side, double r0_steps, double outer_scale_steps, std::uint64_t seed,
              std::uint64_t number);

  /// The subharmonics around a place, as a parabola: they change slowly.
  struct Surroundings {
    double x = 0;  ///< the place
    double y = 0;
    double value = 0;
    double slope_x = 0;
    double slope_y = 0;
    double curve_xx = 0;
    double curve_xy = 0;
    double curve_yy = 0;
  };

  [[nodiscard]] Surroundings around(double x, double y) const;

  /// Phase at the points of a pupil whose centre is (dx, dy) from the place and whose grid has that
  /// step, times `factor`, is added to phase_rad[k] for point k, up to a constant. Bilinear.
  void add(const Surroundings& place, double dx, double dy, double step, const Pupil& pupil,
           float factor, std::vector<float>& phase_rad) const;

  /// Phase at one place, rad.
  [[nodiscard]] double at(double x, double y) const;

  /// Makes tilts of that pupil (with step 1) known at every place.
  void prepare_tilts(const Pupil& pupil);

  /// Tilt over the pupil (dx, dy) from the place. After prepare_tilts().
  [[nodiscard]] Tilt tilt(const Surroundings& place, double dx, double dy) const;

 private:
  struct Wave {
    double fx = 0;  ///< rad a step
    double fy = 0;
    double cosine = 0;
    double sine = 0;
  };

  void add_subharmonics(double r0_steps, double outer_scale_steps, std::uint64_t seed,
                        std::uint64_t number);
  [[nodiscard]] double interpolated(const Plane& map, double x, double y) const;

  int side_;
  Plane phase_;
  std::vector<Wave> waves_;
  Plane tilt_x_;
  Plane tilt_y_;
};

}  // namespace lull::lab
