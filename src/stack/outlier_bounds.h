#pragma once

#include <vector>

#include "align/padded_frame.h"
#include "align/shift_field.h"
#include "core/plane.h"
#include "stack/colour_frame.h"

namespace lull::stack {

/// What the scene can look like at each place of a frame. Blur and shift mix the light of a
/// neighbourhood, so no frame goes far beyond the darkest and brightest of the sharp scene nearby,
/// but for its noise: what does is no scene (a cosmic hit, a satellite, a hot pixel).
class OutlierBounds {
 public:
  /// @param reference  linear light. @param valid  1 where it holds data, 0 elsewhere.
  OutlierBounds(PlaneView reference, PlaneView valid);

  /// Brings samples of a frame that lie outside to the bound, their colours likewise.
  /// @param frame  luminance. @param colours  of the same frame; nullptr: it has none.
  /// @param gain   brings the frame to the reference's brightness.
  /// @param noise  standard deviation of a sample of the frame.
  /// @return where they were in the frame.
  std::vector<Place> repair(align::PaddedFrame& frame, ColourFrame* colours,
                            const align::ShiftField& field, double gain, double noise) const;

 private:
  Plane low_;
  Plane high_;
  float span_ = 0;
};

}  // namespace lull::stack
