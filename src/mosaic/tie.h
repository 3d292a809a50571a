#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"
#include "mosaic/panel.h"

namespace lull::mosaic {

/// How well a displacement is known, 1 / px^2: the inverse of its error's covariance. Detail that
/// runs in one direction says nothing of displacements along it.
struct Information {
  double xx = 0;
  double xy = 0;
  double yy = 0;

  Information() = default;

  Information(double alike) : xx(alike), yy(alike) {}  ///< in all directions

  Information(double of_x, double of_both, double of_y) : xx(of_x), xy(of_both), yy(of_y) {}

  /// Square of a gap in units of its error.
  [[nodiscard]] double chi2(Displacement gap) const {
    return xx * gap.x_px * gap.x_px + 2 * xy * gap.x_px * gap.y_px + yy * gap.y_px * gap.y_px;
  }

  [[nodiscard]] Displacement times(Displacement d) const {
    return {xx * d.x_px + xy * d.y_px, xy * d.x_px + yy * d.y_px};
  }

  [[nodiscard]] double mean() const { return 0.5 * (xx + yy); }

  friend Information operator*(const Information& a, double factor) {
    return {a.xx * factor, a.xy * factor, a.yy * factor};
  }
};

/// One point of the scene as two panels show it, px of each.
struct Tie {
  Displacement first;
  Displacement second;
  Information weight = 1;  ///< of its error, along the axes of the mosaic
};

/// Two panels that overlap.
struct Link {
  PanelIndex first = 0;
  PanelIndex second = 0;
  std::vector<Tie> ties;
};

/// A place of a panel that is known to lie somewhere in the mosaic, with an error that is known:
/// the weight is one over its square.
struct Anchor {
  PanelIndex panel = 0;
  Displacement place;   ///< px of the panel
  Displacement mosaic;  ///< px of the mosaic
  Information weight = 1;
};

/// Fewer ties of its only link leave the place of a panel uncertain.
inline constexpr std::size_t kFewTies = 8;

/// How much a residual counts whose like have this spread: 1 / (1 + (off / 2.4 spread)^2), the
/// weight of Cauchy's distribution, half at 2.4 times the spread (Holland & Welsch 1977, Commun.
/// Stat. A6, 813, from memory).
[[nodiscard]] double trust(double off, double spread);

/// Of gaps whose weights only compare them with each other.
inline constexpr double kAnySpread = 1e-6;

/// Gaps of ties, and how far each is believed.
class Gaps {
 public:
  void add(Displacement gap, const Information& weight);

  /// After all were added. @param least_spread  of gaps in units of their error: 1 where weights
  /// hold for sure, so that none is doubted that lies within its error.
  void judge(double least_spread = kAnySpread);

  std::vector<double> trusted;  ///< of each, 0 to 1: trust() by its like
  double rms_px = 0;            ///< of their lengths, by information and trust

 private:
  std::vector<double> chis_;
  std::vector<double> weights_;
};

}  // namespace lull::mosaic
