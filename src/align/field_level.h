#pragma once

#include <vector>

#include "align/gaussian_blur.h"
#include "align/node_grid.h"
#include "align/padded_frame.h"
#include "core/plane.h"

namespace lull::align {

/// One step of the way from coarse to fine: frame and reference are blurred by a Gaussian of this
/// standard deviation, and the field is predicted that many times.
struct FieldLevel {
  double blur_px = 0;
  int iterations = 1;
  int row_step = 1;  ///< 1, 2, 4 or 8: every so many rows are looked at; blurred ones need no more
  int column_step = 1;  ///< the same of columns
  int reduction = 1;    ///< blurred frames keep every so many samples, along both axes
};

/// What depends on the reference alone. Planes hold what is looked at, sums are over the squares of
/// nodes.
struct ReferenceLevel {
  FieldLevel level;
  Plane reference, gradient_x, gradient_y, curvature, valid;
  std::vector<float> n, x, y, xx, xy, yy;  ///< of gradients and their products
  std::vector<float> c, cx, cy, cc;        ///< the same with the curvature
  std::vector<float> n_wide, n_near;       ///< n in windows

  /// Without the sums. @param valid  1 where the reference holds data.
  ReferenceLevel(const FieldLevel& level, PlaneView reference, PlaneView valid);

  /// @param columns  of nodes. @param rows  of nodes. @param wide, near  windows of n.
  void add_sums(int columns, int rows, const NodeWindow& wide, const NodeWindow& near);
};

/// Frames at the blur of each level, made from fine to coarse: a blurred plane needs fewer samples,
/// and a little more blur.
class LevelBlurs {
 public:
  /// @param levels  from coarse to fine.
  explicit LevelBlurs(const std::vector<FieldLevel>& levels);

  /// Memory for one thread. The frame at each level.
  struct Workspace {
    std::vector<PaddedFrame> frames;
    GaussianBlur::Workspace blur;
  };

  /// @param first  the coarsest level that is needed.
  void apply(const PaddedFrame& frame, std::size_t first, Workspace& work) const;

 private:
  std::vector<GaussianBlur> blurs_;  ///< from the next finer level
};

}  // namespace lull::align
