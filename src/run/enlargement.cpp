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

}  // namespace

stack::Enlargement enlargement_of(const Stacking& stacking) {
  if (stacking.pixfrac && stacking.scale == 1) {
    throw UsageError(
        fmt::format("--pixfrac {} is for enlarged stacks; add --scale above 1, or leave it out",
                    *stacking.pixfrac));
  }
  return {stacking.scale, stacking.pixfrac.value_or(kDefaultPixfrac)};
}

double need_of_enlargement(const stack::Enlargement& enlargement,
                           const capture::CaptureInfo& info) {
  if (enlargement.scale <= 1) return 0;
  const double width_px = std::floor(info.size.width_px * enlargement.scale);
  const double height_px = std::floor(info.size.height_px * enlargement.scale);
  return width_px * height_px * (stack::has_colour(info) ? kBytesColour : kBytesMono);
}

}  // namespace lull::run
