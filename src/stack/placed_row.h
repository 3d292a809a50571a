#pragma once

#include <vector>

#include "stack/contribution.h"
#include "stack/picture_grid.h"

namespace lull::stack {

/// Where one row of a picture is seen in a frame, and how much the frame counts there. One thread;
/// its memory is reused from row to row.
class PlacedRow {
 public:
  /// @param offset  of the channel's detail beside that of the luminance, px.
  void place(const PictureGrid& grid, const align::ShiftField& field, Displacement offset, int y);

  /// Sets the weights to those given on the field's nodes, faded at the edges of the frame.
  void weigh(const PictureGrid& grid, const align::ShiftField& field,
             const std::vector<float>& nodes, Size frame);

  /// Sets the weights to 1, faded at the edges of the frame.
  void weigh_equally(Size frame);

  /// The frame at the places of the row, by cubic convolution.
  /// @return valid until the next call.
  [[nodiscard]] const float* sampled(const ChannelSamples& samples);

  [[nodiscard]] int count() const { return count_; }

  [[nodiscard]] const float* x() const { return x_.data(); }

  [[nodiscard]] const float* y() const { return y_.data(); }

  [[nodiscard]] const float* weight() const { return weight_.data(); }

 private:
  void fade(Size frame);

  int row_ = 0;
  int count_ = 0;
  std::vector<float> x_, y_, weight_, sampled_;
};

}  // namespace lull::stack
