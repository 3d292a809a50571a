#pragma once

#include <vector>

#include "core/geometry.h"
#include "lab/parameters.h"
#include "lab/screen.h"
#include "lab/slow_noise.h"

namespace lull::lab {

/// Turbulent layers that the wind carries past the telescope as they are (frozen flow, Taylor
/// 1938). Light from different places of the picture crosses a high layer at different places, so
/// regions move and blur independently. Phases are those of the reference wavelength; they go with
/// its inverse.
class Air {
 public:
  /// @param pupil  of the reference wavelength; its grid is that of the screens.
  Air(const Parameters& parameters, const Pupil& pupil, int screen_side);

  /// The air at one instant.
  struct Instant {
    std::vector<PhaseScreen::Surroundings> layers;
    float strength = 1;  ///< factor of all phases: turbulence comes and goes
  };

  [[nodiscard]] Instant at(double time_s) const;

  /// Phase over a pupil for light from a place of the picture, px from its centre.
  /// @param wavelength_ratio  over the reference wavelength.
  void phase(const Instant& instant, double x_px, double y_px, double wavelength_ratio,
             const Pupil& pupil, std::vector<float>& phase_rad) const;

  /// Displacement of the picture at a place, px: the best plane through the phase.
  [[nodiscard]] Displacement tilt(const Instant& instant, double x_px, double y_px) const;

  /// Turbulence at an instant, as D / r0.
  [[nodiscard]] double d_over_r0(double time_s) const;

  /// Share of the light that passes.
  [[nodiscard]] double transparency(double time_s) const;

  /// Instants by which an exposure is averaged: between two of them a layer moves by at most about
  /// a third of its r0.
  [[nodiscard]] int instants_per_exposure() const;

 private:
  struct Layer {
    PhaseScreen screen;
    double start_x = 0;  ///< steps
    double start_y = 0;
    double wind_x = 0;  ///< steps a second
    double wind_y = 0;
    double steps_per_px = 0;  ///< how far apart the light of neighbouring pixels passes
    double r0 = 0;            ///< steps, of this layer alone
  };

  AirParameters parameters_;
  double exposure_s_;
  double px_per_tilt_;  ///< displacement for a tilt of 1 rad a step
  SlowNoise strength_;
  SlowNoise slow_strength_;
  SlowNoise cloud_;
  std::vector<Layer> layers_;
};

/// Displacement between two wavelengths by refraction, arcsec, positive where the first is
/// refracted more: Filippenko 1982, Publications of the Astronomical Society of the Pacific 94,
/// 715.
[[nodiscard]] double dispersion_arcsec(double wavelength_m, double reference_m,
                                       const AirParameters& air);

}  // namespace lull::lab
