#pragma once

#include <array>
#include <vector>

#include "align/shift_field.h"
#include "core/plane.h"
#include "stack/colour_frame.h"
#include "stack/half_stacks.h"

namespace lull::stack {

/// One frame on its way into the colour stack.
struct ColourContribution {
  const ColourFrame* frame = nullptr;
  const align::ShiftField* field = nullptr;
  const std::vector<float>* weights = nullptr;  ///< as of Contribution
  double gain = 1;
  int half = 0;
};

/// Sums of red, green and blue over two disjoint halves of the frames, on the grid of the
/// reference. Samples of a mosaic are not demosaiced: each goes into the sums of its own colour,
/// into the four places around where it was registered, by its nearness to each; the wandering of
/// the frames fills what one frame leaves open (Fruchter & Hook 2002, Publications of the
/// Astronomical Society of the Pacific 114, 144, with a tent instead of a square drop).
class ColourStacks {
 public:
  ColourStacks() = default;
  explicit ColourStacks(Size size);

  /// Where the detail of red, green and blue lies beside that of the luminance, px: dispersion.
  void set_offsets(const std::array<Shift, 3>& offsets) { offsets_ = offsets; }

  [[nodiscard]] const std::array<Shift, 3>& offsets() const { return offsets_; }

  void add(const std::vector<ColourContribution>& batch);

  /// Weighted mean of both halves; where no sample of the colour came, that of the neighbours.
  [[nodiscard]] Plane mean(int channel) const;

  [[nodiscard]] Plane half_mean(int channel, int half) const;

  [[nodiscard]] ColourStacks copy() const;

 private:
  struct Sums {
    Plane light;
    Plane weight;
  };

  std::array<std::array<Sums, 2>, 3> sums_;  ///< channel, half
  std::array<Shift, 3> offsets_;
};

}  // namespace lull::stack
