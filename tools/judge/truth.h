#pragma once

#include <filesystem>
#include <vector>

#include "judge/image.h"
#include "judge/spline.h"

namespace lull::judge {

/// The noise-free picture that a capture was made from, and how fine its detail can be.
struct Truth {
  Spline mean;                   ///< of the mean of the channels, with the rim
  std::vector<Spline> channels;  ///< 1 or 3, with the rim
  Image mean_samples;            ///< what `mean` goes through
  int rim_px = 0;                ///< how far the rim reaches on each side
  double cutoff = 0;             ///< optical cutoff at the reference wavelength, cycles/px
  std::vector<double> relative_wavelengths;  ///< a channel; its cutoff is cutoff / this
  Box box;                                   ///< the part that every frame shows: what is judged

  /// `spline` in coordinates without the rim, moved: pixel (x, y) of the result, whose first pixel
  /// is `box`'s, shows truth place (x, y) - shift - field(x, y).
  [[nodiscard]] Image seen(const Spline& spline, const Box& seen_box, Displacement shift) const;
  [[nodiscard]] Image seen(const Spline& spline, const Box& seen_box, Displacement shift,
                           const Image& field_x, const Image& field_y) const;
};

/// Reads a FITS file whose image EXTENDED is the picture with a rim of EXT px around it, first row
/// at the top, NAXIS3 = 3 for red, green and blue; its primary header holds CUTOFF (cycles/px),
/// EXT, BOXX0, BOXX1, BOXY0, BOXY1 (px, half-open) and LAM0, LAM1 .. (a channel).
/// @throws InputError when it is missing, damaged, or lacks any of these.
[[nodiscard]] Truth read_truth(const std::filesystem::path& path);

}  // namespace lull::judge
