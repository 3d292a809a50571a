#pragma once

#include <optional>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"
#include "spectrum/fft.h"

namespace lull::health {

/// How fine the detail is that the frames hold above their noise.
struct DetailSpectrum {
  struct Ring {
    double frequency = 0;  ///< middle, cycles/px
    double power = 0;      ///< over that of the white noise; 1 = noise alone
  };

  std::vector<Ring> rings;
  /// Frequency at which the power meets the noise, cycles/px. A lower bound of the cutoff of the
  /// optics: fainter detail beyond may be hidden. None: all is noise.
  std::optional<double> limit;
  bool trusted = true;      ///< false: the noise is not white, so nothing can be told
  bool to_the_end = false;  ///< no noise floor was reached: there is detail up to what pixels show
};

/// Mean power spectrum of all frames, in which the phases that the air scrambles do not count
/// (Labeyrie 1970, A&A 6, 85): with the noise taken off it reaches up to the cutoff of the optics
/// although no single frame does. The mean of a block's spectra is taken off before, and with it
/// all that stands still: columns, dust, hot pixels. Of a mosaic only green counts, the other
/// places being 0; its copies in the spectrum lie at the corners.
class DetailSpectrumSum {
 public:
  explicit DetailSpectrumSum(const capture::CaptureInfo& info);

  /// Frames of one block; in parallel, summed in order.
  /// @param middles of the object in each frame, px: a tile of at most 256 px around it is looked
  /// at.
  void add(const std::vector<const capture::Frame*>& frames,
           const std::vector<Displacement>& middles);

  /// None: too few frames.
  [[nodiscard]] std::optional<DetailSpectrum> result() const;

 private:
  void transform(const capture::Frame& frame, Displacement middle, std::size_t slot);
  template <class T>
  void fill(SampleView samples, int x0, int y0, Plane& tile) const;
  [[nodiscard]] std::size_t ring_of(double fx, double fy) const;

  std::size_t plane_;
  bool mosaic_;
  capture::Cfa cfa_;
  Size frame_;
  Size tile_;
  std::vector<float> taper_x_, taper_y_;
  std::vector<spectrum::Spectrum> spectra_;
  std::vector<Plane> tiles_;
  std::vector<double> power_, bins_;  ///< by ring
  double floor_power_ = 0, floor_bins_ = 0;
  std::int64_t frames_seen_ = 0;
};

}  // namespace lull::health
