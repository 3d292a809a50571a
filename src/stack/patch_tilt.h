#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"
#include "spectrum/fft.h"

namespace lull::stack {

/// How far a patch of a frame is from that of the reference, by the phases of its coarse detail
/// (least squares, weighted by amplitude).
class PatchTilt {
 public:
  /// @param finest  frequency that says how a patch is moved, cycles/px.
  PatchTilt(Size patch, double finest);

  /// Place of what is seen in the patch less that in the reference.
  [[nodiscard]] Displacement between(const spectrum::Spectrum& patch,
                                     const spectrum::Spectrum& reference) const;

 private:
  struct Bin {
    int row, column;
    double fx, fy;
    double multiplicity;
  };

  std::vector<Bin> coarse_;
};

}  // namespace lull::stack
