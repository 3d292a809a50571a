#pragma once

#include <functional>
#include <vector>

#include "finish/detail_curve.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// What is left of the amplitude at a frequency, cycles/px; 1 at 0.
using Transfer = std::function<double(double)>;

/// The transfer function of a Gaussian blur of this full width at half maximum.
[[nodiscard]] Transfer gaussian_transfer(double fwhm_px);

/// The squared correlation of the whole picture with the truth, C^2 = 2 F / (1 + F) (Rosenthal &
/// Henderson 2003), by frequency; 0 from where the halves have lost each other. Where they share
/// nothing: 0 everywhere.
[[nodiscard]] std::vector<spectrum::FilterPoint> wiener_weight(const spectrum::FrcCurve& frc);

/// The Wiener filter C^2 / transfer: noise, which the halves do not share, is not raised. Without a
/// resolution it is 1 everywhere.
/// @param restraint  1: as described; 0: 1 / transfer without regard to noise; between them a
///                   mixture. Amplitudes are raised 50-fold at most.
[[nodiscard]] std::vector<spectrum::FilterPoint> wiener_filter(const spectrum::FrcCurve& frc,
                                                               const Transfer& transfer,
                                                               double restraint = 1);

/// The gains of a curve; those above 1 limited by C^2.
/// @param restraint  1: as described; 0: the full curve; between them a mixture.
[[nodiscard]] std::vector<spectrum::FilterPoint> curve_filter(const spectrum::FrcCurve& frc,
                                                              const DetailCurve& curve,
                                                              double restraint = 1);

}  // namespace lull::finish
