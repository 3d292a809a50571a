#pragma once

#include <optional>

#include "core/plane.h"
#include "merge/similarity.h"

namespace lull::merge {

/// What is looked for.
struct SimilaritySearch {
  double scale = 1;              ///< px of the picture for one of the reference, expected
  double furthest_scale = 0.15;  ///< relative to that; 0: it is that, exactly
  double furthest_turn = 0.27;   ///< radians, about 0 and about half a turn; 15 degrees
  double least_agreement = 0.5;  ///< correlation of the detail, where both show it
};

/// The coarse step of find_similarity(): every turn, scale and shift, on pictures reduced to 64 px
/// or less, by correlation of their detail. Right to about 2 px of the reduced pictures.
/// @return none where one of them has no detail.
[[nodiscard]] std::optional<Similarity> search_similarity(PlaneView reference, PlaneView picture,
                                                          const SimilaritySearch& search);

/// Side of the squares over which pictures are reduced for it: 1, 2, 4, ...
[[nodiscard]] int search_reduction(Size reference);

}  // namespace lull::merge
