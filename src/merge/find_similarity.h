#pragma once

#include "core/outcome.h"
#include "core/plane.h"
#include "merge/similarity.h"
#include "merge/similarity_search.h"

namespace lull::merge {

/// How a picture lies on the grid of another of the same scene, seen through another filter or on
/// another day.
///
/// First all turns, scales and shifts are tried on reduced pictures, by correlation of their
/// detail. The best is refined from coarse to fine by least squares on the gradients of all pixels
/// (Lucas & Kanade 1981, Proc. 7th IJCAI, 674), together with the contrast and the difference in
/// blur, with less weight for what does not fit (Cauchy).
///
/// @return Reject::no_structure where one of them is too small or has no detail;
/// Reject::weak_peak where they do not agree. Some seconds for 10 Mpx.
[[nodiscard]] Outcome<Similarity> find_similarity(PlaneView reference, PlaneView picture,
                                                  const SimilaritySearch& search);

}  // namespace lull::merge
