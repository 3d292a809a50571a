#pragma once

#include <complex>
#include <vector>

#include "core/geometry.h"

namespace lull::mosaic {

/// Displacements on a grid of nodes over a panel, bilinear between them; the same beyond its edges
/// as at them.
class Bend {
 public:
  static constexpr int kNodePx = 16;

  Bend() = default;
  /// No displacement.
  explicit Bend(Size panel);

  [[nodiscard]] int columns() const { return columns_; }

  [[nodiscard]] int rows() const { return rows_; }

  /// Of each node, row by row, px of the panel; node (c, r) lies at pixel (c, r) * kNodePx.
  std::vector<Displacement> nodes;

  [[nodiscard]] Displacement at(Displacement place) const;

  /// The four nodes around a place and their shares.
  struct Corners {
    std::size_t node[4];
    double share[4];
  };

  [[nodiscard]] Corners corners(Displacement place) const;

  [[nodiscard]] double rms_px() const;

 private:
  int columns_ = 0;
  int rows_ = 0;
};

/// From a panel to the mosaic: the optics' radial distortion about the middle of the panel, then
/// what the air has bent, then scale, turn and shift as one complex factor and sum.
struct PanelMap {
  Size panel;
  std::complex<double> factor = 1;  ///< px of the mosaic for one of the panel, and the turn
  std::complex<double> middle = 0;  ///< where the panel's middle lies in the mosaic, px
  double distortion = 0;            ///< radius grows by this share at the corner of the panel
  Bend bend;                        ///< empty: none

  [[nodiscard]] Displacement to_mosaic(Displacement place) const;

  /// The opposite; right to 1e-3 px.
  [[nodiscard]] Displacement to_panel(Displacement place) const;

  /// From the panel's middle, px of the panel.
  [[nodiscard]] std::complex<double> from_middle(Displacement place) const;

  /// The same without the optics' distortion and with the bend: times the factor and plus `middle`
  /// it is the place in the mosaic.
  [[nodiscard]] std::complex<double> lens(Displacement place) const;

  /// Squared distance from the panel's middle; a corner has 1.
  [[nodiscard]] double radius2(Displacement place) const;

  [[nodiscard]] double scale() const { return std::abs(factor); }

  [[nodiscard]] double turn_deg() const;
};

/// Whether a place is a sample of the panel at least `margin_px` from its edges.
[[nodiscard]] bool is_inside(Size panel, Displacement place, double margin_px);

/// The pixels of the mosaic that a panel may cover.
[[nodiscard]] Box outline(const PanelMap& map);

}  // namespace lull::mosaic
