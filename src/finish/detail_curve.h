#pragma once

#include <vector>

namespace lull::finish {

/// Gain of detail of one size. A feature of so many pixels is half a period: the frequency
/// 1 / (2 size) cycles/px.
struct DetailPoint {
  double size_px = 0;
  double gain = 1;
};

/// Gain as a smooth curve over feature size, through given points: cubic pieces on the logarithm
/// of the size, monotone between neighbours (slopes of Fritsch & Butland 1984, SIAM J. Sci. Stat.
/// Comput. 5, 300). Finer than the first point the gain stays; coarser than the last it falls back
/// to 1 within two octaves, as the light of the whole is kept.
class DetailCurve {
 public:
  /// @param points  at least one, sizes rising and positive.
  explicit DetailCurve(const std::vector<DetailPoint>& points);

  [[nodiscard]] double gain(double size_px) const;

 private:
  struct Knot {
    double place = 0;  ///< log2 of the size
    double gain = 1;
    double slope = 0;
  };

  std::vector<Knot> knots_;
};

}  // namespace lull::finish
