#pragma once

#include <vector>

#include "core/plane.h"
#include "judge/mosaic_pose.h"

namespace lull::judge {

/// How far detail of a picture lies beside where it is expected, in one patch.
struct PatchShift {
  double x = 0;  ///< middle of the patch, px of the scene
  double y = 0;
  Displacement shift;
  double correlation = 0;  ///< of the detail there, where the shift is applied
};

struct PatchShifts {
  int spacing_px = 0;
  int columns = 0;  ///< of the grid of patches
  int rows = 0;
  std::vector<PatchShift> found;
  int not_found = 0;  ///< patches with detail in the scene, which the picture does not show alike
};

/// A picture brought to the grid of the scene, and where it shows something.
struct Brought {
  Plane light;
  Plane covered;  ///< 1 or 0
};

/// Compares patches of 96 px, 48 px apart, where the scene has detail in every direction: the peak
/// of the correlation of their detail, to a small part of a pixel.
[[nodiscard]] PatchShifts find_patch_shifts(PlaneView scene, const Brought& picture);

/// A smooth displacement that follows the patches.
class ShiftMap {
 public:
  /// No displacement.
  ShiftMap() = default;
  explicit ShiftMap(const PatchShifts& shifts);

  [[nodiscard]] Displacement at(double x, double y) const;

 private:
  int spacing_px_ = 1;
  int columns_ = 0;
  int rows_ = 0;
  std::vector<Displacement> nodes_;
};

/// shift ~ moved + grows (p - middle) + turns (p - middle) turned by a right angle, by least
/// squares; patches far off (4 times the median of what is left) are left out.
struct PoseChange {
  Displacement moved;
  double grows = 0;
  double turns = 0;

  [[nodiscard]] Displacement at(double dx, double dy) const {
    return {moved.x_px + grows * dx - turns * dy, moved.y_px + grows * dy + turns * dx};
  }
};

[[nodiscard]] PoseChange fit_change(const std::vector<PatchShift>& shifts, Displacement middle);

/// What is left of the shifts after the best shift, turn and scale, px.
struct Distortion3000 {
  double rms_px = 0;
  double worst_px = 0;  ///< rms of the window where it is largest
};

/// rms over the whole scene. @param middle  of the scene.
[[nodiscard]] double rms_left(const std::vector<PatchShift>& shifts, Displacement middle);

/// The same in windows of 3000 px, half as far apart, each with a shift, turn and scale of its own.
[[nodiscard]] Distortion3000 left_in_windows(const std::vector<PatchShift>& shifts, Size scene);

}  // namespace lull::judge
