#include "run/enlargement.h"

#include <fmt/format.h>

#include <cmath>

#include "core/error.h"
#include "stack/colour_frame.h"

namespace lull::run {

namespace {

constexpr double kDefaultPixfrac = 0.7;  // bench/DECISIONS.md, Enlarged stacks
constexpr double kBytesMono = 150;       // a pixel of the picture, measured: 142
constexpr double kBytesColour = 220;     // 211
constexpr double kMiB = 1 << 20;

}  // namespace

stack::Enlargement enlargement_of(const Stacking& stacking) {
  if (stacking.pixfrac && stacking.scale == 1) {
    throw UsageError(
        fmt::format("--pixfrac {} is for enlarged stacks; add --scale above 1, or leave it out",
                    *stacking.pixfrac));
  }
  return {stacking.scale, stacking.pixfrac.value_or(kDefaultPixfrac)};
}

void check_enlargement(const stack::Enlargement& enlargement, const capture::CaptureInfo& info,
                       std::size_t memory_bytes) {
  if (enlargement.scale <= 1) return;
  const double width_px = std::floor(info.size.width_px * enlargement.scale);
  const double height_px = std::floor(info.size.height_px * enlargement.scale);
  const double needed =
      width_px * height_px * (stack::has_colour(info) ? kBytesColour : kBytesMono);
  if (needed <= static_cast<double>(memory_bytes)) return;
  throw UsageError(fmt::format(
      "--scale {}: a picture of {:.0f} x {:.0f} px takes about {:.0f} MB of memory, and {:.0f} MB "
      "are allowed; use a smaller scale, or --memory {:.0f}M if the machine has that",
      enlargement.scale, width_px, height_px, needed / kMiB,
      static_cast<double>(memory_bytes) / kMiB, std::ceil(needed / kMiB / 100) * 100));
}

}  // namespace lull::run
