#pragma once

#include <vector>

#include "judge/image.h"

namespace lull::judge {

/// truth ~ gain * picture + offset, by least squares.
struct LinearFit {
  double gain = 1;
  double offset = 0;
};

[[nodiscard]] LinearFit fit_linear(const Image& truth, const Image& picture);

[[nodiscard]] Image applied(const LinearFit& fit, const Image& picture);

/// 10 log10(peak^2 / mean squared error), dB.
[[nodiscard]] double psnr_db(double mean_squared_error, double peak);

[[nodiscard]] double mean_squared_error(const Image& a, const Image& b);

/// Structural similarity. Source: Wang et al. 2004 IEEE TIP 13, 600, with its 11 x 11 Gaussian of
/// sigma 1.5 px, C1 = (0.01 L)^2, C2 = (0.03 L)^2; mean over all but the 5 outermost px.
/// @param data_range  L, the span of possible values. At least 11 x 11 px.
[[nodiscard]] double ssim(const Image& a, const Image& b, double data_range);

/// Fourier ring correlation with the truth up to the cutoff. Source: Saxton & Baumeister 1982; van
/// Heel 1982. Pictures are windowed (Tukey, 0.7).
struct RingCorrelation {
  std::vector<double> curve;  ///< a ring, equal widths from 0 to the cutoff
  double area = 0;            ///< mean of the curve, negative values as 0
  double half = 0;            ///< where it falls below 0.5, as a share of the cutoff; 1 = nowhere
  /// Amplitude of the truth that is in the picture, a ring, over that in the lowest: the regression
  /// of the picture's spectrum on the truth's. Noise does not raise it.
  std::vector<double> transfer;
};

[[nodiscard]] RingCorrelation ring_correlation(const Image& truth, const Image& picture,
                                               double cutoff);

/// Mean squared error that is left after the best isotropic zero-phase filter of the picture, the
/// mean aside: what any linear isotropic sharpening of it could reach.
[[nodiscard]] double best_radial_error(const Image& truth, const Image& picture, double cutoff);

/// All figures of one channel.
struct Measures {
  double psnr = 0;   ///< dB, against the truth's peak
  double nrmse = 0;  ///< rms error over the truth's standard deviation
  double ssim = 0;
  double frc_f50 = 0;
  double frc_auc = 0;
  double psnr_best_radial = 0;  ///< dB
  LinearFit fit;
  std::vector<double> frc_curve;
  std::vector<double> transfer_curve;  ///< RingCorrelation::transfer
};

/// @param truth,picture  equal sizes, registered. @param cutoff  cycles/px.
[[nodiscard]] Measures measure(const Image& truth, const Image& picture, double cutoff);

}  // namespace lull::judge
