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
    double frequency = 0;  ///< centre, cycles/px
    double power = 0;      ///< over that of the white noise; 1 = noise alone
  };

  std::vector<Ring> rings;
  /// Frequency at which the power meets the noise, cycles/px. A lower bound of the cutoff of the
  /// optics: fainter detail beyond may be hidden. None: all is noise.
  std::optional<double> limit;
  bool noise_usable = true;  ///< false: not white, or below the rounding: no limit follows
  bool to_the_end = false;   ///< no noise floor was reached: there is detail up to what pixels show
};

/// Mean power spectrum of all frames, in which phases scrambled by the air do not matter (Labeyrie
/// 1970, A&A 6, 85). With the noise subtracted it reaches up to the cutoff of the optics although
/// no single frame does. The mean spectrum of each block is subtracted first, which removes all
/// that does not move: columns, dust, hot pixels. Of a mosaic only green is used; the other samples
/// are 0, and the copies that this adds to the spectrum are at its corners.
class DetailSpectrumSum {
 public:
  explicit DetailSpectrumSum(const capture::CaptureInfo& info);

  /// Frames of one block; in parallel, summed in order.
  /// @param centres of the object in each frame, px: the centre of a tile of at most 256 px.
  void add(const std::vector<const capture::Frame*>& frames,
           const std::vector<Displacement>& centres);

  /// None: too few frames.
  [[nodiscard]] std::optional<DetailSpectrum> result() const;

 private:
  void transform(const capture::Frame& frame, Displacement object_centre, std::size_t slot);
  void find_scatter(int row, std::size_t count);
  template <class T>
  void fill(SampleView samples, int x0, int y0, Plane& tile) const;
  [[nodiscard]] std::size_t ring_of(double fx, double fy) const;
  void index_rings();

  std::size_t plane_;
  bool mosaic_;
  capture::Cfa cfa_;
  Size frame_;
  Size tile_;
  std::vector<float> taper_x_, taper_y_;
  std::vector<spectrum::Spectrum> spectra_;
  std::vector<Plane> tiles_;
  std::vector<double> power_, bins_;  ///< by ring
  std::vector<std::size_t> rings_;    ///< of each bin
  std::vector<float> scatter_;        ///< of each bin, about the mean of a block
  double floor_power_ = 0, floor_bins_ = 0;
  std::int64_t frames_seen_ = 0;
};

}  // namespace lull::health
