#pragma once

#include <optional>
#include <vector>

#include "core/plane.h"
#include "spectrum/ring_sums.h"

namespace lull::spectrum {

/// Fourier ring correlation of two pictures of the same thing with independent noise.
struct FrcCurve {
  struct Ring {
    double frequency = 0;    ///< centre of the ring, cycles/px
    double correlation = 0;  ///< [-1, 1]
    double samples = 0;      ///< independent complex values in the ring
  };

  std::vector<Ring> rings;  ///< from 0 to 0.5 cycles/px

  /// First frequency at which the correlation falls below 1/7, or below what noise reaches by
  /// chance in rings that hold few samples (Rosenthal & Henderson 2003, J. Mol.
  /// Biol. 333, 721: the full stack then correlates 0.5 with the truth). None: nowhere above.
  [[nodiscard]] std::optional<double> resolution() const;

  /// The same for the half-bit curve of van Heel & Schatz 2005, J. Struct. Biol. 151, 250, which
  /// grows with the uncertainty of rings that hold few samples.
  [[nodiscard]] std::optional<double> half_bit_resolution() const;

  /// Information that the full stack holds a sample, averaged over the frequencies up to 0.5:
  /// mean of log2(1 + SNR), SNR = 2 F / (1 - F), bits.
  [[nodiscard]] double information_bits() const;
};

[[nodiscard]] double half_bit_threshold(double samples);

/// What FrcCurve::resolution() compares with, in a ring of so many independent complex values.
[[nodiscard]] double resolution_threshold(double samples);

/// FRC = sum F1 F2* / sqrt(sum |F1|^2 sum |F2|^2) over rings (Saxton & Baumeister 1982, J.
/// Microscopy 127, 127; van Heel & Stoeffler-Meilicke 1985). Pictures are cropped around their
/// centre to a fast size, their means subtracted, edges tapered. @param first,second equal sizes,
/// at least 16 px a side.
[[nodiscard]] FrcCurve fourier_ring_correlation(PlaneView first, PlaneView second);

/// The same, each of eight directions by itself, and the mean of these: an edge, such as a limb, is
/// sure across its direction and says nothing along it.
[[nodiscard]] FrcCurve mean_sector_correlation(PlaneView first, PlaneView second);

/// The same of several parts of two pictures, whose sums are taken together.
class FrcSums {
 public:
  /// Parts of one size. As fourier_ring_correlation().
  void add(PlaneView first, PlaneView second);

  /// Empty where nothing was added.
  [[nodiscard]] FrcCurve curve() const;

 private:
  std::vector<RingSums> rings_;
};

}  // namespace lull::spectrum
