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

/// By how much more a place allows than the whole picture: its wiener_weight() less that of the
/// whole where it is more, else 0. The rings of a small square hold few samples, so its
/// correlations are taken one standard deviation low, (1 - F^2) / sqrt(2 n) (Fisher 1921, Metron 1,
/// 3, from memory). Empty where it allows nothing more.
/// @param place  the FRC of a part of the picture. @param whole  its own.
[[nodiscard]] std::vector<spectrum::FilterPoint> weight_beyond(const spectrum::FrcCurve& place,
                                                               const spectrum::FrcCurve& whole);

/// What wiener_filter() of that place gains beyond the whole's. @param beyond  weight_beyond().
[[nodiscard]] std::vector<spectrum::FilterPoint> wiener_beyond(
    std::vector<spectrum::FilterPoint> beyond, const Transfer& transfer, double restraint = 1);

/// The same of curve_filter().
[[nodiscard]] std::vector<spectrum::FilterPoint> curve_beyond(
    const std::vector<spectrum::FilterPoint>& beyond, const DetailCurve& curve,
    double restraint = 1);

/// The gains of a curve; those above 1 limited by C^2.
/// @param restraint  1: as described; 0: the full curve; between them a mixture.
[[nodiscard]] std::vector<spectrum::FilterPoint> curve_filter(const spectrum::FrcCurve& frc,
                                                              const DetailCurve& curve,
                                                              double restraint = 1);

}  // namespace lull::finish
