#pragma once

namespace lull::health {

/// What an observer knows of the instrument.
struct Optics {
  double aperture_mm = 0;
  double focal_length_mm = 0;  ///< effective: with extenders
  double pixel_um = 0;
  double wavelength_nm = 550;

  [[nodiscard]] double scale_arcsec_per_px() const;

  /// Pixels in lambda / D. 2 is the least that keeps all detail: the cutoff D / lambda of the
  /// optics (Goodman, Introduction to Fourier Optics) is then the highest frequency that pixels can
  /// show.
  [[nodiscard]] double px_per_lambda_over_d() const;

  [[nodiscard]] double cutoff_cycles_per_px() const { return 1 / px_per_lambda_over_d(); }
};

}  // namespace lull::health
