#pragma once

#include <optional>
#include <vector>

#include "core/plane.h"
#include "spectrum/fft.h"
#include "spectrum/peak.h"

namespace lull::align {

/// Phase correlation of patches of one size (Kuglin & Hines 1975), the cross spectrum weighted
/// ring by ring by its signal-to-noise as the maximum-likelihood processor does (Hannan & Thomson
/// 1973, Biometrika 60, 469; Knapp & Carter 1976): empty frequencies have random phases and must
/// not count. One thread.
class PatchCorrelator {
 public:
  explicit PatchCorrelator(Size size);

  [[nodiscard]] Size size() const { return size_; }

  /// spectrum::Spectrum of a patch, its mean subtracted, tapered towards the edges.
  void transform(PlaneView patch, spectrum::Spectrum& out);

  /// Displacement of the content of `frame` against that of `reference`, px. Destroys `frame`.
  [[nodiscard]] spectrum::CorrelationPeak correlate(const spectrum::Spectrum& reference,
                                                    spectrum::Spectrum& frame, int reach_x,
                                                    int reach_y);

 private:
  void measure_rings(const spectrum::Spectrum& a, const spectrum::Spectrum& b);

  Size size_;
  spectrum::Fft fft_;
  std::vector<float> across_, down_;
  std::vector<int> ring_;     ///< of each bin of the half spectrum
  std::vector<double> bins_;  ///< in each ring, of the whole spectrum
  std::vector<double> power_;
  std::vector<float> weight_;  ///< of each ring
  Plane window_;
  Plane correlation_;
};

}  // namespace lull::align
