#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"
#include "mosaic/panel.h"

namespace lull::mosaic {

/// One point of the scene as two panels show it, px of each.
struct Tie {
  Displacement first;
  Displacement second;
  double weight = 1;  ///< of its error, 1 / px^2
};

/// Two panels that overlap.
struct Link {
  PanelIndex first = 0;
  PanelIndex second = 0;
  std::vector<Tie> ties;
};

/// Fewer ties of its only link leave the place of a panel uncertain.
inline constexpr std::size_t kFewTies = 8;

/// Root mean square of the lengths of gaps in a plane that are Gaussian but for some far off: from
/// their median, whose square is ln 2 of the mean square. 0 when there are none.
[[nodiscard]] double robust_rms(std::vector<double> lengths);

/// How much a residual counts whose like have this spread: 1 / (1 + (off / 2.4 spread)^2), the
/// weight of Cauchy's distribution, half at 2.4 times the spread (Holland & Welsch 1977, Commun.
/// Stat. A6, 813, from memory).
[[nodiscard]] double trust(double off, double spread);

}  // namespace lull::mosaic
