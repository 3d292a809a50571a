#pragma once

namespace lull::finish {

/// What a perfect telescope passes of the amplitude at a frequency, as a share of its cutoff, in
/// one colour: the autocorrelation of an aperture with a round obstruction (O'Neill 1956, J. Opt.
/// Soc. Am. 46, 285). @param obstruction  its diameter over that of the aperture, in [0, 1).
[[nodiscard]] double telescope_transfer(double share_of_cutoff, double obstruction);

/// Of a telescope of which nothing is known: a secondary mirror of 0.3 of the diameter (common
/// practice, no source). A refractor passes 10% more at a fifth of the cutoff.
[[nodiscard]] double telescope_transfer(double share_of_cutoff);

}  // namespace lull::finish
