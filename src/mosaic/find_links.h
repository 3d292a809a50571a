#pragma once

#include <vector>

#include "mosaic/panel.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// Which panels overlap, from their content alone: whatever their order, turn and scale.
///
/// Scale-invariant features of the sketches (Lowe 2004, Int. J. Computer Vision 60, 91), each
/// compared with its nearest ones in all other panels by one search tree (Brown & Lowe 2007, Int.
/// J. Computer Vision 74, 59, whose rule for true overlaps is used); a similarity that most of a
/// pair's features follow (random sampling, Fischler & Bolles 1981). The features on a pattern of
/// local contrast, so that the lit and the dark side of a terminator count alike.
/// @return links with the features that agree, places in full pixels, right to about a pixel of
/// the sketches. The same on every run.
[[nodiscard]] std::vector<Link> find_links(const std::vector<Sketch>& sketches);

}  // namespace lull::mosaic
