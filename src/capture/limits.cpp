#include "capture/limits.h"

#include <fmt/format.h>

#include "core/error.h"

namespace lull::capture {

void check_size(const std::string& path, Size size) {
  const bool possible = size.width_px > 0 && size.height_px > 0 && size.width_px <= kMaxSidePx &&
                        size.height_px <= kMaxSidePx && size.area_px() <= kMaxAreaPx;
  if (possible) return;
  throw InputError(
      fmt::format("{}: gives a frame size of {} x {} px; sides of 1 to {} px and up to {} million "
                  "pixels are supported. The header is probably damaged.",
                  path, size.width_px, size.height_px, kMaxSidePx, kMaxAreaPx / 1'000'000));
}

}  // namespace lull::capture
