#include "capture/limits.h"

#include <fmt/format.h>

#include <algorithm>

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

void check_frame_count(const std::string& path, std::int64_t frames) {
  if (frames <= kMostFrames) return;
  throw InputError(
      fmt::format("{}: holds {} frames; up to {} are supported. If it is not that long, its header "
                  "is damaged; otherwise split it.",
                  path, frames, kMostFrames));
}

int decoder_threads(Size size, int wanted) {
  constexpr std::int64_t kPictureBytes = std::int64_t{1} << 30;
  constexpr std::int64_t kBytesPx = 4;
  const std::int64_t most = kPictureBytes / std::max<std::int64_t>(kBytesPx * size.area_px(), 1);
  return static_cast<int>(std::clamp<std::int64_t>(most, 1, std::max(wanted, 1)));
}

}  // namespace lull::capture
