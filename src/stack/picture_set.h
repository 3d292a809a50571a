#pragma once

#include <array>
#include <vector>

#include "core/plane.h"
#include "stack/accumulator.h"

namespace lull::stack {

/// One channel of a stack, and the same from either half of its frames.
struct PictureSet {
  Plane whole;
  std::array<Plane, 2> halves;
};

/// The means of a channel; where no sample fell on a pixel, the value of a stack on another grid
/// over the same area, interpolated onto this one.
[[nodiscard]] PictureSet means(const Accumulator& sums, int channel);
[[nodiscard]] PictureSet means(const Accumulator& sums, int channel, const Accumulator& otherwise);

[[nodiscard]] PictureSet cropped(const PictureSet& from, const Box& box);

/// Of one channel: itself. Of red, green and blue: as quality::luminance has it.
[[nodiscard]] PictureSet luminance_of(const std::vector<PictureSet>& channels);

/// Noise of the mean of two pictures of one scene, from their difference: half of its robust
/// deviation.
[[nodiscard]] double noise_between(PlaneView a, PlaneView b);

/// See share_correction(PlaneView, PlaneView, MutablePlaneView, Box).
void share_correction(const PictureSet& before, const PictureSet& after, PictureSet& colour,
                      const Box& measured);

}  // namespace lull::stack
