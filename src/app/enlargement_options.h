#pragma once

#include <cstddef>
#include <string>

#include "capture/capture.h"
#include "stack/drizzle.h"

namespace lull::app {

/// @param scale 1, 1.5, 2 or 3. @param pixfrac auto, or a number where the scale is above 1.
/// @throws UsageError for others.
[[nodiscard]] stack::Enlargement parse_enlargement(const std::string& scale,
                                                   const std::string& pixfrac);

/// @throws UsageError when such a picture of this capture is too large for the memory allowed.
void check_enlargement(const stack::Enlargement& enlargement, const capture::CaptureInfo& info,
                       std::size_t memory_bytes);

}  // namespace lull::app
