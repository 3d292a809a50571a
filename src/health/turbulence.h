#pragma once

#include <complex>
#include <cstdint>
#include <optional>
#include <vector>

#include "capture/capture.h"
#include "spectrum/coherence.h"
#include "spectrum/fft.h"
#include "survey/survey.h"

namespace lull::health {

using spectrum::Coherence;

/// How strong the air was, measured from frames evenly over the whole capture, good and bad.
struct Turbulence {
  double d_over_r0 = 0;  ///< aperture over Fried's parameter
  std::int64_t frames = 0;
  std::vector<Coherence> rings;  ///< what it follows from
};

/// Measures Turbulence during a survey. In patches of some of the frames, aligned by their low
/// frequencies, the power of the mean is divided by the mean power, so that the object's own
/// spectrum cancels. Each patch is aligned on its own, as the air moves them. A Laplacian first
/// sharpens the picture, which keeps strong coarse detail from leaking through the window into
/// faint fine detail. Noise is removed from the mean by multiplying the means of two halves of the
/// frames, and from the power by subtracting what is beyond the cutoff. Memory does not depend on
/// the capture's length.
class TurbulenceProbe final : public survey::SurveyWatcher {
 public:
  /// @param cutoff  D / lambda, cycles/px.
  TurbulenceProbe(const capture::CaptureInfo& info, double cutoff);

  void see(const std::vector<capture::Frame>& frames, const survey::Survey& so_far) override;

  /// None: too few frames, too little signal, pixels too coarse to show the noise beyond the
  /// cutoff, or a coherence that turbulence does not explain.
  [[nodiscard]] std::optional<Turbulence> result() const;

 private:
  struct Bin {
    int row = 0;
    int column = 0;
    double fx = 0;  ///< cycles/px
    double fy = 0;
    double q = 0;
    double count = 0;  ///< bins of the whole spectrum
    double noise = 0;  ///< power of white noise, as Laplacian and luminance pass it on
  };

  using Bins = std::vector<std::complex<float>>;

  /// One frame in one patch; no bins where the patch is outside the frame.
  struct Cut {
    Bins bins;
    double beyond = 0;  ///< power beyond the cutoff
  };

  struct Sample {
    FrameIndex index = 0;
    std::vector<Cut> cuts;  ///< patch by patch
  };

  /// Sums over patches, ring by ring.
  struct Sums {
    std::vector<double> coherent, power, noise, weighted_q;
  };

  void list_bins();
  void choose_patches(const capture::Frame& frame);
  [[nodiscard]] Sample sample(const capture::Frame& frame,
                              const quality::FrameRecord& record) const;
  [[nodiscard]] Cut cut(PlaneView light, Place place, Displacement rest, spectrum::Fft& fft) const;
  [[nodiscard]] Plane light_of(const capture::Frame& frame, double brightness) const;
  void thin_out();
  void line_up(std::vector<Bins>& cuts) const;
  void add_patch(std::size_t patch, Sums& sums) const;

  const capture::CaptureInfo& info_;
  double cutoff_;
  Size side_;
  std::vector<float> across_, down_;
  std::vector<Bin> bins_;    ///< those kept, low frequencies first
  std::size_t low_ = 0;      ///< so many of them are low
  std::vector<Bin> beyond_;  ///< those that hold noise alone
  double beyond_noise_ = 0;  ///< power of white noise in them
  std::vector<Place> patches_;
  std::optional<FrameOffset> origin_;
  std::int64_t stride_ = 1;  ///< of the frames looked at
  std::vector<Sample> samples_;
};

}  // namespace lull::health
