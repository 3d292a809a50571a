#pragma once

#include <vector>

#include "judge/image.h"

namespace lull::judge {

enum class Transform { fourier, cosine };

/// Rings of equal width in spatial frequency: `rings_to_cutoff` of them up to the cutoff, more
/// beyond (10 times as many at most, the last holds all the rest).
struct Rings {
  int rings_to_cutoff = 0;
  std::vector<int> ring;       ///< of each bin of the transform, row-major
  std::vector<double> radius;  ///< of each bin, as a share of the cutoff
};

/// @param cutoff  cycles/px.
[[nodiscard]] Rings rings_of(Size size, double cutoff, int rings_to_cutoff, Transform transform);

/// Smallest and largest number of rings allowed around a wish, whole rings.
[[nodiscard]] int ring_count(double wish, int fewest, int most);

/// 2-D raised-cosine window (Tukey): falls to zero over `share` of either half of each side.
[[nodiscard]] Image tukey_window(Size size, double share);

/// The image minus its mean under the window, times the window.
[[nodiscard]] Image windowed(const Image& image, const Image& window);

}  // namespace lull::judge
