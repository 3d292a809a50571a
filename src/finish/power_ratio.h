#pragma once

#include <optional>
#include <vector>

#include "finish/blur_model.h"
#include "spectrum/ratio_ring.h"

namespace lull::finish {

/// Frames that a stack is compared with: those kept in it, or some of the whole capture.
enum class FrameSet { kept, of_capture };

/// The power of a stack over that of a set of frames, and how well a blur explains it. The power of
/// the frames is that of the object times <|S|^2>, their mean squared transfer, so the ratio is
/// t^2 / <|S|^2>, with t the transfer of the stack. How <|S|^2> follows from the coherence of the
/// frames is said in blur.h.
class PowerRatio {
 public:
  /// @param resolution  of the stack, cycles/px.
  /// @param coherence_share  of what follows from the coherence in the logarithm of the power of
  ///                         kept frames; the rest follows from the cells of the aperture.
  PowerRatio(const std::vector<spectrum::RatioRing>& rings, double resolution, FrameSet frames,
             double coherence_share);

  /// The ratio where the cutoff of the optics is known.
  class AtCutoff {
   public:
    /// What a halo passes, by ring, and of the coarse rings.
    struct Halo {
      std::vector<double> rings;
      std::vector<double> coarse;
    };

    /// @param halo  cycles/px.
    [[nodiscard]] Halo passed_by(double halo) const;

    /// Minus twice the logarithm of the likelihood, up to a constant, over all strengths of the
    /// air about the one measured. @param blur  of this cutoff. @param halo  passed_by() of the
    /// blur's halo. @return none where no ring is left below the cutoff.
    [[nodiscard]] std::optional<double> deviance(const Blur& blur, const Halo& halo) const;

   private:
    friend class PowerRatio;

    /// One strength of the air.
    struct Air {
      std::vector<double> power;   ///< <|S|^2> as far as it follows from the coherence, by ring
      std::vector<double> coarse;  ///< the same of the coarse rings
      double deviance = 0;
    };

    AtCutoff(const PowerRatio& of, double cutoff, double turbulence);

    /// Of the coarse rings, by which all are divided.
    [[nodiscard]] double expected_coarse(const Air& air, const Blur& blur, const Halo& halo) const;

    const PowerRatio* of_;
    std::vector<Air> airs_;
    std::vector<double> cells_;  ///< of the aperture, by ring
  };

  /// @return none where the frames do not tell the strength of the air. This outlives it.
  [[nodiscard]] std::optional<AtCutoff> at(double cutoff) const&;
  void at(double cutoff) const&& = delete;

 private:
  /// Of a ring in which the frames have signal.
  struct Sample {
    double frequency = 0;
    double ratio = 0;
    double weight = 0;
  };

  [[nodiscard]] double coarse_ratio() const;
  [[nodiscard]] std::optional<double> turbulence(double cutoff) const;
  [[nodiscard]] double power_by_coherence(double q, double turbulence) const;

  FrameSet frames_;
  double coherence_share_;
  std::vector<spectrum::RatioRing> rings_;  ///< with the powers of these frames
  std::vector<double> coarse_;              ///< frequencies of the coarse rings with signal
  std::vector<Sample> samples_;
};

}  // namespace lull::finish
