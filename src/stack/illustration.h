#pragma once

#include <cstddef>
#include <vector>

#include "align/shift_field.h"
#include "core/geometry.h"
#include "core/plane.h"

namespace lull::stack {

/// What shows how a stack came to be, beside its figures.
struct Illustration {
  /// Where the air had moved each region of one frame, against its place in the picture.
  struct Movement {
    FrameIndex index = 0;
    std::vector<FrameOffset>
        at;  ///< px, one for each of `places`, without the movement of the whole
  };

  std::vector<Plane> best_frame;  ///< the sharpest frame, registered: luminance, or three colours
  std::vector<Displacement> places;  ///< in the picture, px
  std::vector<Movement> movements;   ///< some of the kept frames, in order of the capture
};

/// Collects an Illustration while frames are added to a stack, best first. Memory does not depend
/// on the number of frames.
class Illustrator {
 public:
  /// @param candidates frames that may be added.
  explicit Illustrator(std::size_t candidates);

  /// The frame at `position` of the rank order goes into the stack by this field.
  void add(std::size_t position, FrameIndex index, const align::ShiftField& field);

  /// @param crop what of the reference the picture shows. @param kept frames in the stack. The best
  /// frame is not filled in.
  [[nodiscard]] Illustration finish(const Box& crop, std::size_t kept) const;

  /// Field of the best frame; of the reference's size once it was added.
  [[nodiscard]] const align::ShiftField& best_field() const { return best_field_; }

 private:
  struct Kept {
    std::size_t position = 0;
    FrameIndex index = 0;
    align::ShiftField field;
  };

  std::size_t every_;  ///< so many positions from one shown field to the next
  std::vector<Kept> shown_;
  align::ShiftField best_field_;
};

}  // namespace lull::stack
