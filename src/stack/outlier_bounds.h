#pragma once

#include <vector>

#include "align/padded_frame.h"
#include "align/shift_field.h"
#include "core/plane.h"
#include "stack/colour_frame.h"

namespace lull::stack {

/// Range of possible values at each place of a frame. Blur and shift mix the light of a
/// neighbourhood. So, but for its noise, no frame exceeds the darkest and brightest values of the
/// sharp scene nearby. A sample outside is an outlier (a cosmic hit, a satellite, a hot pixel).
class OutlierBounds {
 public:
  /// @param reference  linear light. @param valid  1 where it holds data, 0 elsewhere.
  OutlierBounds(PlaneView reference, PlaneView valid);

  /// Clamps outliers of a frame to the bound, and their colours likewise.
  /// @param frame  luminance. @param colours  of the same frame; nullptr: it has none.
  /// @param gain   factor from the frame's brightness to the reference's.
  /// @param noise  standard deviation of a sample of the frame.
  /// @return their positions in the frame.
  std::vector<Place> repair(align::PaddedFrame& frame, ColourFrame* colours,
                            const align::ShiftField& field, double gain, double noise) const;

 private:
  /// The frame, as repair() gets it.
  struct Seen {
    align::PaddedFrame& frame;
    ColourFrame* colours;
    const align::ShiftField& field;
    float factor;
    float margin;
  };

  /// Memory for the coordinates of a row.
  struct Row {
    std::vector<float> x, y;
    std::vector<int> outside;
  };

  /// Whether a part of the reference may show an outlier: a quick look, in which every sample is
  /// held against bounds that are as narrow as any within reach of its place.
  [[nodiscard]] bool suspicious(const Box& part, const Seen& seen) const;
  /// Columns [from, to) of a row, whose coordinates are filled in.
  void repair(int row, int from, int to, const Seen& seen, Row& at,
              std::vector<Place>& found) const;

  Plane low_;
  Plane high_;
  align::PaddedFrame narrow_low_;
  align::PaddedFrame narrow_high_;
  float span_ = 0;
};

}  // namespace lull::stack
