#pragma once

#include "capture/capture_info.h"
#include "run/stacking.h"
#include "stack/enlargement.h"

namespace lull::run {

/// How the picture is enlarged; scale 1: not at all.
/// @throws UsageError for --pixfrac without --scale.
[[nodiscard]] stack::Enlargement enlargement_of(const Stacking& stacking);

/// Bytes that an enlarged picture of this capture takes while it is made; scale 1: none.
[[nodiscard]] double need_of_enlargement(const stack::Enlargement& enlargement,
                                         const capture::CaptureInfo& info);

}  // namespace lull::run
