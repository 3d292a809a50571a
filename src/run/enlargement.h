#pragma once

#include <cstddef>

#include "capture/capture.h"
#include "run/stacking.h"
#include "stack/enlargement.h"

namespace lull::run {

/// How the picture is enlarged; scale 1: not at all.
/// @throws UsageError for --pixfrac without --scale.
[[nodiscard]] stack::Enlargement enlargement_of(const Stacking& stacking);

/// @throws UsageError when such a picture of this capture is too large for the memory allowed.
void check_enlargement(const stack::Enlargement& enlargement, const capture::CaptureInfo& info,
                       std::size_t memory_bytes);

}  // namespace lull::run
