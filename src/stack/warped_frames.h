#pragma once

#include <vector>

#include "core/plane.h"
#include "stack/contribution.h"

namespace lull::stack {

/// Frames brought to the pixels of the picture once, for all that sum them. The memory serves one
/// batch after the other.
class WarpedFrames {
 public:
  /// Fills in the warped planes of the luminance.
  /// @param picture  of the frames' size.
  void warp(std::vector<Contribution>& batch, Size picture);

  /// In place, after which the batch has no warped planes: frames as bright as the reference, and
  /// the reference itself where they do not reach.
  void complete(std::vector<Contribution>& batch, PlaneView reference);

  [[nodiscard]] PlaneView view(std::size_t i) const { return planes_[i].view(); }

 private:
  std::vector<Plane> planes_;
};

}  // namespace lull::stack
