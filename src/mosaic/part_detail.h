#pragma once

#include "core/plane.h"
#include "spectrum/fft.h"

namespace lull::mosaic {

/// Detail of parts of one size: merge::detail_of() for many small pictures. Between the blurs of
/// one picture it is transformed once, and beyond its edges it goes on as in a mirror for 16 px
/// only. A workspace of one thread.
class PartDetail {
 public:
  explicit PartDetail(Size part);

  /// The picture whose detail is asked for next. @param light  of that size.
  void show(PlaneView light);

  /// The difference of two Gaussian blurs of these standard deviations.
  [[nodiscard]] Plane between(double fine_px, double coarse_px);

 private:
  Size part_;
  Box inside_;
  spectrum::Fft fft_;
  Plane canvas_;
  spectrum::Spectrum shown_;
  spectrum::Spectrum filtered_;
};

}  // namespace lull::mosaic
