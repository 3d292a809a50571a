#pragma once

#include <vector>

#include "finish/blur_model.h"
#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// Likelihood of the optics' cutoff and of the air's blur from the shape of a stack's power
/// spectrum. A telescope passes less and less towards its cutoff, so the power falls more steeply
/// near it. Noise, which limits the resolution of a faint stack, does not change this shape.
///
/// The model is A f^-b T(f / cutoff)^2 t(f)^2, T being the telescope's transfer and t that of the
/// air. Where the luminance of a mosaic is smoothed, t is left out, as the two have the same shape.
/// The cutoff is within 5% of the truth where there is signal (bench/DECISIONS.md). Where there is
/// none, the prior decides: 0.33 cycles/px, or any cutoff beyond Nyquist where detail goes on to
/// the last frequency.
class PowerLaw {
 public:
  /// @param resolution  of the stack, cycles/px, > 0.
  PowerLaw(const std::vector<spectrum::RatioRing>& rings, double resolution);

  /// Cutoffs that the stack admits, rising, cycles/px.
  [[nodiscard]] std::vector<double> cutoffs() const;

  /// What a telescope of this cutoff passes of the power of each sample.
  [[nodiscard]] std::vector<double> passed_by_telescope(double cutoff) const;

  /// What a halo passes of the amplitude of each sample. @param halo  cycles/px.
  [[nodiscard]] std::vector<double> passed_by_halo(double halo) const;

  /// Deviance of a blur and its cutoff by the power and by the prior of the cutoff: minus twice the
  /// logarithm of their likelihood, up to a constant.
  /// @param telescope  passed_by_telescope() of the blur's cutoff.
  /// @param halo       passed_by_halo() of the blur's halo.
  [[nodiscard]] double deviance(const Blur& blur, const std::vector<double>& telescope,
                                const std::vector<double>& halo) const;

 private:
  struct Sample {
    double frequency = 0;
    double power = 0;
    double weight = 0;
    bool smoothed = false;  ///< as a mosaic's luminance is
  };

  [[nodiscard]] double misfit(const Blur& blur, const std::vector<double>& telescope,
                              const std::vector<double>& halo) const;
  [[nodiscard]] double prior_deviance(double cutoff) const;

  double resolution_ = 0;
  bool beyond_pixels_ = false;  ///< the cutoff
  std::vector<Sample> samples_;
  double weighted_squares_ = 0;              ///< of the powers
  std::vector<std::vector<double>> slopes_;  ///< f^-b of each sample, for each b
};

}  // namespace lull::finish
