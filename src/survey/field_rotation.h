#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::survey {

/// How far the field turns between two frames of a capture, as under an alt-azimuth mount.
struct FieldTurn {
  double degrees = 0;   ///< largest difference of two frames; 0: none is certain
  double moved_px = 0;  ///< by which detail moves, root mean square over the structure
};

/// "the field turns by 6.1 degrees ...". Empty where none is certain.
[[nodiscard]] std::string field_turn_text(const FieldTurn& turn);

/// What to do about one that is too far, in a capture of so many frames.
[[nodiscard]] std::string advice_on(const FieldTurn& turn, std::int64_t frames);

/// More than the registration of patches can follow, from both sides of the reference: with the
/// lab's lunar ground, 10 px of movement cost 0.2 dB of the stack's PSNR, and 20 px 9 dB.
[[nodiscard]] bool is_too_far(const FieldTurn& turn);

/// Measures by how much blocks of frames are turned against the first: rotation and shift that
/// bring the mean of a few frames onto the first mean, by Gauss-Newton steps on the squared
/// difference (Lucas & Kanade 1981). Frames are reduced; their places are known from the tracker.
class FieldRotation {
 public:
  /// One block. @param planes  reduced, of one size. @param at  place of each, see Tracker.
  void see(const std::vector<PlaneView>& planes, const std::vector<FrameOffset>& at);

  /// @param reduction  of the planes.
  [[nodiscard]] FieldTurn result(int reduction) const;

 private:
  struct Fit {
    double angle = 0;  ///< radians
    Displacement shift;
    double agreement = -1;  ///< correlation coefficient
    double sigma = 0;       ///< of the angle
  };

  [[nodiscard]] Fit fitted(PlaneView mean, double start) const;
  [[nodiscard]] Fit searched(PlaneView mean) const;

  Plane first_;
  int step_ = 1;  ///< pixels of a plane for one that is compared
  double last_ = 0;
  std::vector<double> angles_;
  int blocks_ = 0;
};

}  // namespace lull::survey
