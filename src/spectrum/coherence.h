#pragma once

#include <optional>
#include <vector>

namespace lull::spectrum {

/// How far the short exposures of one thing agree, by frequency.
struct Coherence {
  double q = 0;       ///< frequency over the cutoff D / lambda of the optics
  double ratio = 0;   ///< power of the mean over the mean power, both without noise
  double signal = 0;  ///< mean power over that of the noise
};

/// The ratio |<S>|^2 / <|S|^2> of the transfer S of short exposures, each shifted such that its low
/// frequencies (q < kTiltFrequency) have no slope of phase, for Kolmogorov's turbulence. The
/// spectral ratio of von der Luehe 1984, J. Opt. Soc. Am. A 1, 510; the numerator is the
/// short-exposure transfer of Fried 1966, J. Opt. Soc. Am. 56, 1372, the denominator that of Korff
/// 1973, J. Opt. Soc. Am. 63, 971. Neither has a closed form for finite D / r0, so the table comes
/// from 2160 simulated wave fronts over a pupil with an obstruction of 0.2 (at q under 0.4 one of 0
/// to 0.33 changes it by the same as 5% of D / r0). Good to 0.01.
/// @param q  0 to 0.6. @param d_over_r0  kLeastTurbulence to kMostTurbulence.
[[nodiscard]] double expected_coherence(double q, double d_over_r0);

/// The mean power <|S|^2> of short exposures over that of the telescope alone: the speckle transfer
/// function of Korff 1973. From 7824 simulated wave fronts of each D / r0, over a pupil with an
/// obstruction of 0.3; while exposed the air moves by 0.15 of the aperture. Good to 2%.
/// @param q  0 to 0.95. @param d_over_r0  positive.
[[nodiscard]] double expected_speckle_power(double q, double d_over_r0);

inline constexpr double kTiltFrequency = 0.12;
inline constexpr double kLeastTurbulence = 1;
inline constexpr double kMostTurbulence = 15;

/// D / r0 whose expected coherence is nearest to what was measured, by rising q.
/// @return none where too few frequencies are significant, or where no turbulence fits them, for
/// example because of a strong static pattern.
[[nodiscard]] std::optional<double> turbulence_of(const std::vector<Coherence>& measured);

/// The same for any air: as few rings as one will do, and air too still for the table is the
/// stillest that the law of the table goes on to, 0.3. @return none where nothing is significant or
/// nothing fits.
[[nodiscard]] std::optional<double> nearest_turbulence(const std::vector<Coherence>& measured);

}  // namespace lull::spectrum
