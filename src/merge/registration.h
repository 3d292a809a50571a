#pragma once

#include "align/shift_field.h"
#include "align/spline_plane.h"
#include "core/outcome.h"
#include "core/plane.h"
#include "merge/find_similarity.h"
#include "merge/similarity.h"

namespace lull::merge {

/// Whether a smooth field follows what the air has bent, besides shift, turn and scale.
enum class Bend { followed, left };

/// Where the places of a grid are seen in a picture: as the similarity says of the place moved by
/// the field.
struct Placement {
  Similarity whole;
  align::ShiftField field;  ///< on the grid; without a turn of its own

  /// In the picture, of the pixels of row y of the grid. The rows must hold field.row_size().
  void coordinates(int y, float* x_out, float* y_out) const;

  /// The picture on the grid, by cubic B-spline; beyond the picture's edges as in a mirror.
  [[nodiscard]] Plane brought(const align::SplinePlane& picture) const;

  /// 1 where a place of the grid lies in that box of the picture, 0 elsewhere.
  [[nodiscard]] Plane covered(const Box& box) const;
};

/// The picture that is the grid itself.
[[nodiscard]] Placement in_place(Size grid);

/// Places a picture on the grid of a reference: find_similarity(), then the field by
/// align::FieldEstimator, on a picture that has the local contrast of the reference. Filters show
/// the same detail in different contrast.
/// @return what find_similarity() rejects.
[[nodiscard]] Outcome<Placement> register_picture(PlaneView reference, PlaneView picture,
                                                  const SimilaritySearch& search, Bend bend);

}  // namespace lull::merge
