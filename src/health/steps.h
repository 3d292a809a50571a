#pragma once

#include <vector>

#include "align/find_shift.h"
#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::health {

/// Movement from one frame to the next, measured between the two: neighbours are similar, whereas
/// against a common reference each frame has an independent error of a pixel or two.
class Steps {
 public:
  explicit Steps(const capture::CaptureInfo& info);

  /// Up to 8 pairs of neighbouring frames of a block, in parallel; kept in order.
  /// @param centres of the object in each frame, px: a tile of at most 256 px around each is
  /// compared.
  void add(const std::vector<const capture::Frame*>& frames,
           const std::vector<Displacement>& centres);

  /// Lengths of the steps that were found, px.
  [[nodiscard]] const std::vector<double>& lengths_px() const { return lengths_px_; }

 private:
  struct Workspace {
    align::FindShiftWorkspace find;
    Plane first, second;
  };

  void reduce(const capture::Frame& frame, int x0, int y0, Plane& out) const;

  const capture::CaptureInfo& info_;
  Size tile_;  ///< of 2 x 2 px each
  std::vector<Workspace> workspaces_;
  std::vector<double> lengths_px_;
};

}  // namespace lull::health
