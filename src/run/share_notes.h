#pragma once

#include <string>
#include <vector>

#include "draw/annotate.h"
#include "run/look.h"

namespace lull::run {

/// Annotation under the picture of the shared copy.
/// @param cards  of the stack, from which the caption `auto` and the scale bar follow.
/// @param size  of the stack.
/// @throws UsageError for a caption `auto` where the cards do not hold it.
[[nodiscard]] draw::Annotation share_notes(const Look& look, const std::vector<files::Card>& cards,
                                           Size size);

/// The longest bar of 1, 2 or 5 times a power of ten, in arcseconds or else in pixels, that takes
/// at most a quarter of the width.
/// @param arcsec_per_px  0: not known.
[[nodiscard]] draw::ScaleBar scale_bar(int width_px, double arcsec_per_px);

}  // namespace lull::run
