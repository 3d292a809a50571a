#pragma once

#include <cstddef>
#include <vector>

#include "align/shift_field.h"
#include "core/geometry.h"
#include "core/plane.h"

namespace lull::stack {

/// Values on a coarse grid of squares over the picture, row by row.
struct Grid {
  int columns = 0;
  int rows = 0;
  int square_px = 0;  ///< side; the last column and row may reach past the picture
  std::vector<float> values;
};

/// What shows how a stack came to be, beside its figures.
struct Illustration {
  /// Where the air had moved each region of one frame, against its place in the picture.
  struct Displacement {
    FrameIndex index = 0;
    std::vector<Shift> at;  ///< px, one for each of `places`, without the movement of the whole
  };

  std::vector<Plane> best_frame;  ///< the sharpest frame, registered: luminance, or three colours
  Grid effective_frames;          ///< (sum of weights)^2 / (sum of squared weights)
  std::vector<Shift> places;      ///< in the picture, px
  std::vector<Displacement> displacements;  ///< some of the kept frames, in order of the capture
};

/// Collects an Illustration while frames are added to a stack, best first. Memory does not depend
/// on the number of frames.
class Illustrator {
 public:
  /// @param candidates frames that may be added.
  Illustrator(Size reference, std::size_t candidates);

  /// The frame at `position` of the rank order goes into the stack with these weights on the nodes
  /// of its field. @param frame size of the frame: what lies outside of it has no weight.
  void add(std::size_t position, FrameIndex index, const align::ShiftField& field,
           const std::vector<float>& weights, Size frame);

  /// The stack of the frames so far is the best one yet.
  void mark();

  /// @param crop what of the reference the picture shows. @param kept frames in the stack that was
  /// marked last. The best frame is not filled in.
  [[nodiscard]] Illustration finish(const Box& crop, std::size_t kept) const;

  /// Field of the best frame; of the reference's size once it was added.
  [[nodiscard]] const align::ShiftField& best_field() const { return best_field_; }

 private:
  /// Sums over the frames, node by node.
  struct Weights {
    std::vector<double> sum;
    std::vector<double> squares;
  };

  struct Kept {
    std::size_t position = 0;
    FrameIndex index = 0;
    align::ShiftField field;
  };

  [[nodiscard]] Grid effective_frames(const Box& crop) const;

  align::ShiftField grid_;  ///< tells the nodes
  std::size_t every_;       ///< so many positions from one shown field to the next
  Weights so_far_;
  Weights marked_;
  std::vector<Kept> shown_;
  align::ShiftField best_field_;
};

}  // namespace lull::stack
