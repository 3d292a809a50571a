#pragma once

#include <cstdint>
#include <vector>

#include "stack/accumulator.h"

namespace lull::test {

/// Weighted sums of one channel in double precision, on a grid of the given size.
struct PlainSums {
  explicit PlainSums(Size grid);

  /// The weighted mean; 0 where no weight is.
  [[nodiscard]] double mean(int x, int y) const;

  [[nodiscard]] double& light_at(int x, int y) { return light[at(x, y)]; }

  [[nodiscard]] double& weight_at(int x, int y) { return weight[at(x, y)]; }

  [[nodiscard]] double weight_at(int x, int y) const { return weight[at(x, y)]; }

  Size size;
  std::vector<double> light;
  std::vector<double> weight;

 private:
  [[nodiscard]] std::size_t at(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(size.width_px) +
           static_cast<std::size_t>(x);
  }
};

/// Plain versions of the samplers of src/stack: what each defines, pixel by pixel, by the formula.
/// Weights fade from 1, 1 px inside of a frame's edge, to 0 at it (see Contribution::weights).

/// Keys' cubic convolution with a = -1/2 (Keys 1981, IEEE Trans. Acoustics, Speech, and Signal
/// Processing 29, 1153, eq. 15), samples beyond the edge repeat it.
void add_warped(const stack::Contribution& part, int channel, Displacement offset, PlainSums& sums);

/// The tent of 2 x 2 px over those samples that hold the channel.
void add_mosaic(const stack::Contribution& part, int channel, Displacement offset, PlainSums& sums);

/// Fruchter & Hook 2002, Publications of the Astronomical Society of the Pacific 114, 144, eqs. 4
/// and 5: for each pixel the areas that it shares with every drop around, as upright squares.
void add_drops(const stack::Contribution& part, int channel, Displacement offset, double scale,
               double pixfrac, PlainSums& sums);

}  // namespace lull::test
