#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::survey {

/// An angle that changes smoothly: a polynomial of the frame's index.
struct TurnCurve {
  double middle = 0;                     ///< index where the angle is 0
  double half_length = 1;                ///< of the capture, frames
  std::array<double, 2> coefficients{};  ///< radians: of u and u^2, u in half lengths from `middle`

  [[nodiscard]] double at(FrameIndex index) const;

  /// Largest difference of two frames, radians.
  [[nodiscard]] double range() const;
};

/// How far the field turns between two frames of a capture, as under an alt-azimuth mount.
struct FieldTurn {
  double degrees = 0;   ///< largest difference of two frames; 0: none is certain
  double moved_px = 0;  ///< by which detail moves, root mean square over the structure

  /// How it turns with time, where that is smooth.
  std::optional<TurnCurve> curve;

  /// Radians by which a frame is turned against the middle of the capture, from +x towards +y; 0
  /// where there is no curve.
  [[nodiscard]] double at(FrameIndex index) const { return curve ? curve->at(index) : 0; }
};

/// "the field turns by 6.1 degrees ...". Empty where none is certain.
[[nodiscard]] std::string field_turn_text(const FieldTurn& turn);

/// What to do about one that is too far, in a capture of so many frames.
[[nodiscard]] std::string advice_on(const FieldTurn& turn, std::int64_t frames);

/// More than the registration of patches can follow by itself, from both sides of the reference:
/// with the lab's lunar ground, 10 px of movement cost 0.2 dB of the stack's PSNR, and 20 px 9 dB.
[[nodiscard]] bool is_far(const FieldTurn& turn);

/// Measures by how much blocks of frames are turned against the first: rotation and shift that
/// bring the mean of a few frames onto the first mean, by Gauss-Newton steps on the squared
/// difference (Lucas & Kanade 1981). Frames are reduced; their places are known from the tracker.
class FieldRotation {
 public:
  /// How a block lies against the first.
  struct Turned {
    double angle = 0;    ///< radians
    Displacement shift;  ///< px of the planes, beside the places by the tracker
  };

  /// One block. @param planes  reduced, of one size. @param at  place of each, see Tracker.
  /// @return  none: not measured.
  std::optional<Turned> see(const std::vector<PlaneView>& planes,
                            const std::vector<FrameOffset>& at,
                            const std::vector<FrameIndex>& indices);

  /// Largest difference of the angles so far, radians. None where they scatter too much.
  [[nodiscard]] std::optional<double> certain_range(int reduction) const;

  /// @param reduction  of the planes. @param first,last  index of the capture's frames.
  [[nodiscard]] FieldTurn result(int reduction, FrameIndex first, FrameIndex last) const;

 private:
  struct AngleAt {
    double index = 0;  ///< mean of the frames
    double angle = 0;  ///< radians
  };

  struct Fit {
    double angle = 0;  ///< radians
    Displacement shift;
    double agreement = -1;  ///< correlation coefficient
    double sigma = 0;       ///< of the angle
  };

  [[nodiscard]] std::optional<TurnCurve> curve(FrameIndex first, FrameIndex last,
                                               double range) const;
  [[nodiscard]] Fit fitted(PlaneView mean, double start) const;
  [[nodiscard]] Fit searched(PlaneView mean) const;

  Plane first_;
  int step_ = 1;  ///< pixels of a plane for one that is compared
  double last_ = 0;
  std::vector<AngleAt> angles_;
  int blocks_ = 0;
};

}  // namespace lull::survey
