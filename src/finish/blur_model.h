#pragma once

namespace lull::finish {

/// What a halo passes of the amplitude: exp(-3.44 (f / h)^1.5). @param frequency,halo  cycles/px
[[nodiscard]] double halo_transfer(double frequency, double halo);

/// What the air has left of the amplitude of a stack, by frequency: a core that registration saved
/// and a halo of what it could not save. s + (1 - s) exp(-3.44 (f / h)^1.5). The exponential is the
/// long-exposure transfer function (Fried 1966, J. Opt. Soc. Am. 56, 1372) with a power of 1.5
/// instead of 5/3, as the stacked frames differ in their seeing: captures of known truth show 1.2
/// to 1.7 (bench/DECISIONS.md).
struct Blur {
  double core = 1;    ///< s: 1 = the air did nothing
  double halo = 1;    ///< h, cycles/px
  double cutoff = 0;  ///< of the optics, cycles/px

  [[nodiscard]] double transfer(double frequency) const {
    return transfer_with(halo_transfer(frequency, halo));
  }

  /// The same where what the halo passes is known.
  [[nodiscard]] double transfer_with(double of_halo) const { return core + (1 - core) * of_halo; }
};

}  // namespace lull::finish
