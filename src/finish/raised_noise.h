#pragma once

#include <array>
#include <vector>

#include "core/plane.h"
#include "finish/detail.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// Where restoring detail raises noise, over squares of a picture.
struct RaisedNoise {
  static constexpr int kCellPx = 16;

  int columns = 0;
  int rows = 0;
  /// Row by row: how many times the noise's standard deviation after is that before. 1 where it is
  /// raised by less than a half, or where in each wavelet plane that is raised so much it is less
  /// than half as strong as the detail.
  std::vector<float> times;
};

/// Power of a picture's detail and of its noise, in wavelet planes, over squares. Any thread.
class NoiseCells {
 public:
  /// Cost: about that of preparing a restoration, once; memory of a few planes of 1 Mpx.
  NoiseCells(PlaneView picture, const Noise& noise);

  /// What restore_detail() does to the noise with these gains. Takes no time to speak of.
  /// @param frc  of the half stacks: which part of a plane's detail is fine.
  [[nodiscard]] RaisedNoise raised(const std::vector<spectrum::FilterPoint>& gains,
                                   double restraint, const spectrum::FrcCurve& frc) const;

 private:
  static constexpr int kPlanes = 5;  // as PreparedDetail has

  // Mean squares of one wavelet plane, row by row.
  struct Powers {
    std::vector<float> all;
    std::vector<float> noise;
  };

  void measure(PlaneView picture, const Noise& noise, const Box& tile);
  void smooth();

  int columns_ = 0;
  int rows_ = 0;
  std::array<Powers, kPlanes> planes_;
};

/// The larger of two at each place. Equal sizes.
[[nodiscard]] RaisedNoise larger_of(RaisedNoise a, const RaisedNoise& b);

}  // namespace lull::finish
