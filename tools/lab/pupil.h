#pragma once

#include <memory>
#include <vector>

#include "core/plane.h"

namespace lull::lab {

/// Samples of a telescope's entrance pupil, an annulus, on a square grid whose Fourier transform
/// has the pixels of the picture: of `psf_side` grid points, cutoff * psf_side span the diameter.
/// A grid square is open or closed: shares of squares at the rim would widen the PSF (measured:
/// 0.7% of the MTF at a diameter of 100 squares, and in inverse proportion).
struct Pupil {
  struct Point {
    int x = 0;  ///< grid steps from the centre
    int y = 0;
    float aberration_rad = 0;  ///< static
  };

  int psf_side = 0;
  double diameter_steps = 0;
  std::vector<Point> points;

  /// @param cutoff_cycles_per_px  D / lambda in cycles per pixel, at most 0.5.
  /// @param obstruction  central, as a share of the diameter.
  /// @param aberrations_rad  coefficients of Noll's modes 4, 5, ...
  Pupil(int psf_side, double cutoff_cycles_per_px, double obstruction,
        const std::vector<double>& aberrations_rad = {});
};

/// Zernike polynomial of Noll's index (1: piston) at a place of the unit disc; rms 1 over it.
/// Noll 1976, Journal of the Optical Society of America 66, 207, eq. 1 to 3.
[[nodiscard]] double zernike(int noll, double x, double y);

/// Point spread functions of pupils of one size; one workspace a thread.
class PsfMaker {
 public:
  explicit PsfMaker(int psf_side);
  ~PsfMaker();
  PsfMaker(PsfMaker&&) noexcept;
  PsfMaker& operator=(PsfMaker&&) noexcept;

  /// Adds weight * PSF to `out`, psf_side x psf_side, its centre at (0, 0) with negative
  /// coordinates wrapped around; a PSF sums to 1.
  /// @param phase_rad  of each point of the pupil, besides its static aberrations.
  void add(const Pupil& pupil, const std::vector<float>& phase_rad, float weight, Plane& out);

  /// Strehl ratio of the last PSF: its value at (0, 0) over that of a perfect pupil.
  [[nodiscard]] double strehl_at_centre() const { return strehl_; }

 private:
  struct Work;
  int side_;
  double strehl_ = 0;
  std::unique_ptr<Work> work_;
};

}  // namespace lull::lab
