#pragma once

#include "core/geometry.h"
#include "core/plane.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// Sums over a square of a tile that two panels show: of the gradients' products, of gradients
/// times the difference of both, of its square. The gradients are those of the mean of both. A
/// first-order difference of blur, which is a share of the Laplacian, is solved for besides: what
/// it explains as well as a displacement does, as beside an edge, tells of no displacement.
class GradientCell {
 public:
  /// @param first,second  detail in one contrast. @param both  1 where both panels show it.
  /// @param left,top  of the square, at least 1 px from the edges of the planes.
  GradientCell(const Plane& first, const Plane& second, const Plane& both, int left, int top,
               int side_px);

  /// Where both panels show half of it or more.
  [[nodiscard]] bool is_shown() const { return 2 * count_ >= side_px_ * side_px_; }

  /// Whether both show the same: noise has gradients too, but others in each panel.
  [[nodiscard]] bool is_common() const;

  /// By which the second panel's content lies off; 3 px at most.
  [[nodiscard]] Displacement off() const;

  /// Sums of the gradients' products; times the inverse of variance() and of the area over which
  /// differences stay alike it is the information of off().
  [[nodiscard]] const Information& gradients() const { return gradients_; }

  /// Mean square of the difference that neither displacement nor blur explains.
  [[nodiscard]] double variance() const;

 private:
  void add(const Plane& first, const Plane& second, int x, int y);

  void solve_for_blur();

  int side_px_;
  int count_ = 0;
  Information gradients_;
  Displacement pull_;  ///< gradients times difference
  double square_ = 0;  ///< of the difference
  double common_ = 0;  ///< one panel's gradients times the other's
  double raw_ = 0;     ///< squares of the gradients, before blur is solved for
  Displacement blur_;  ///< gradients times Laplacian
  double blur_square_ = 0;
  double blur_pull_ = 0;
};

}  // namespace lull::mosaic
