#pragma once

#include <array>
#include <vector>

#include "stack/colour_stacks.h"
#include "stack/fine_grid.h"
#include "stack/half_stacks.h"

namespace lull::stack {

/// A picture larger than the frames.
struct Enlargement {
  double scale = 1;    ///< pixels of the picture for one of a frame, along a side
  double pixfrac = 1;  ///< side of a drop, frame pixels

  /// Standard deviation of the noise over areas much larger than a pixel, over that which the noise
  /// of a pixel would make there if pixels were independent: drops that fall on several pixels
  /// correlate their noise (Fruchter & Hook 2002, eqs. 9 and 10; r = pixfrac * scale).
  [[nodiscard]] double noise_correlation() const;
};

/// Sums of two disjoint halves of the frames on a finer grid: each sample of a frame is shrunk to
/// a square drop, which falls where its field says, onto the pixels it overlaps, weighted by the
/// area of overlap and the frame's patch weights (variable-pixel linear reconstruction: Fruchter &
/// Hook 2002, Publications of the Astronomical Society of the Pacific 114, 144). Nothing is
/// interpolated, and a sample of a mosaic falls into its own colour only. Drops stay upright
/// squares: fields turn and stretch by far less than a drop.
class Drizzle {
 public:
  Drizzle() = default;

  /// @param channels  1, or 3: red, green and blue.
  Drizzle(Size reference, int channels, Enlargement enlargement);

  [[nodiscard]] const FineGrid& grid() const { return grid_; }

  [[nodiscard]] const Enlargement& enlargement() const { return enlargement_; }

  /// As of ColourStacks.
  void set_offsets(const std::array<Shift, 3>& offsets) { offsets_ = offsets; }

  /// Adds frames, in the order given; rows of the picture run in parallel, so any number of threads
  /// gives the same sums.
  void add(const std::vector<Contribution>& batch);
  void add(const std::vector<ColourContribution>& batch);

  /// Weighted mean of both halves, or of one. Where no drop fell it shows `otherwise`, the classic
  /// stack of the same frames, enlarged by interpolation.
  [[nodiscard]] Plane mean(int channel, PlaneView otherwise) const;
  [[nodiscard]] Plane half_mean(int channel, int half, PlaneView otherwise) const;

  /// Sum of weights that fell on each pixel; a frame of weight 1 adds pixfrac^2 on the mean.
  [[nodiscard]] Plane weight(int channel) const;

  [[nodiscard]] Drizzle copy() const;

 private:
  struct Sums {
    Plane light;
    Plane weight;
  };

  /// What falls: the samples of one colour of one frame.
  struct Drops {
    const align::PaddedFrame* plane = nullptr;
    bool has[2][2] = {{true, true}, {true, true}};  ///< do pixels of that parity, y first, have it?
    const align::ShiftField* field = nullptr;
    const std::vector<float>* weights = nullptr;
    float gain = 1;
    Shift offset;
    Sums* sums = nullptr;
  };

  struct Rows;

  void add(const std::vector<Drops>& batch);
  void add_row(const Drops& drops, int row, Rows& rows) const;
  [[nodiscard]] Plane quotient(const Plane& light, const Plane& weight, PlaneView otherwise) const;

  Enlargement enlargement_;
  FineGrid grid_;
  std::vector<std::array<Sums, 2>> sums_;  ///< channel, half
  std::array<Shift, 3> offsets_;
};

}  // namespace lull::stack
