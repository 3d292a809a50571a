#pragma once

#include <array>
#include <complex>
#include <cstddef>
#include <vector>

#include "align/shift_field.h"
#include "capture/frame.h"
#include "core/plane.h"
#include "spectrum/fft.h"
#include "spectrum/ratio_ring.h"
#include "stack/patch_tilt.h"
#include "stack/ring_bins.h"

namespace lull::stack {

/// How much of the single frames' amplitude the stack keeps, by frequency: the power of the stack
/// over the mean power of its frames, both without noise and patch by patch (the spectral ratio of
/// von der Luehe 1984, J. Opt. Soc. Am. A 1, 510). The object cancels. 1: the frames are equal, so
/// the air did little. The lower, the more detail has been averaged away.
///
/// Beside it, the power of the plain mean of these frames, each patch moved as a whole, says how
/// far they agree.
class SpectralRatio {
 public:
  /// One kept frame, as the stack took it in.
  struct Part {
    PlaneView frame;  ///< light
    const align::ShiftField* field = nullptr;
    const std::vector<float>* weights = nullptr;  ///< on the nodes of the field
    double gain = 1;
    double noise = 0;  ///< variance of a pixel over its light: photon noise
  };

  /// @param area      of the reference, at least 16 px a side.
  /// @param colour  of the frames: the noise of a mosaic's luminance went through [1 2 1] / 4.
  /// @param reference  the stack, on which each patch of a frame is moved as a whole.
  /// @param resolution  of the stack, cycles/px.
  SpectralRatio(Box area, capture::Colour colour, PlaneView reference, double resolution);

  /// Frames of one batch, in order.
  void add(const std::vector<Part>& parts);

  /// @param first,second  the half stacks, as large as the reference.
  /// @return rings up to 0.5 cycles/px; of a mosaic's luminance up to 0.25, where its colours
  /// begin.
  [[nodiscard]] std::vector<spectrum::RatioRing> against(PlaneView first, PlaneView second) const;

 private:
  /// Powers on rings, patch by patch.
  using Powers = std::vector<double>;

  /// What the frames add to one patch.
  struct Patch {
    Place place;
    spectrum::Spectrum reference;
    double weight = 0;
    /// Sums of every other frame: spectra, moved and weighted, and weights.
    std::array<std::vector<std::complex<float>>, 2> light;
    std::array<double, 2> light_weight{};
  };

  struct Workspace;

  void add_to(std::size_t patch, const std::vector<Part>& parts);
  void add_frame(Patch& patch, const Part& part, std::size_t half, double* noise,
                 Workspace& work) const;
  /// Spectrum of the patch of a frame where its coarse detail is that of the reference.
  /// @return false: the frame does not reach the patch.
  [[nodiscard]] bool find(const Patch& patch, const Part& part, Workspace& work) const;
  [[nodiscard]] bool inside(PlaneView frame, const Place& patch, const FrameOffset& offset) const;
  [[nodiscard]] Powers coherent_powers() const;
  [[nodiscard]] std::vector<double> noise_shape(capture::Colour colour) const;
  [[nodiscard]] double light_in(const Plane& patch) const;
  [[nodiscard]] Powers kept_by(PlaneView first, PlaneView second) const;
  [[nodiscard]] double noise_correction(const Powers& kept) const;
  void cut(PlaneView from, int x, int y, float factor, Plane& out) const;

  Size side_;
  RingBins bins_;
  std::vector<float> across_;
  std::vector<float> down_;
  bool smoothed_ = false;            ///< luminance of a mosaic
  std::vector<double> noise_shape_;  ///< see noise_shape()
  PatchTilt tilt_;
  std::vector<Patch> patches_;
  Powers frames_;  ///< with their noise
  Powers noise_;
  std::size_t count_ = 0;
};

}  // namespace lull::stack
