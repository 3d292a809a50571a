#include "stack/colour_sums.h"

namespace lull::stack {

Accumulator colour_sums(const capture::CaptureInfo& info,
                        const std::array<Displacement, 3>& offsets) {
  const bool mosaic = info.colour == capture::Colour::cfa && info.cfa != capture::Cfa::none;
  Accumulator out(mosaic ? mosaic_sampler(info.size) : warp_sampler(info.size), 3,
                  Gaps::neighbours);
  out.set_offsets(offsets);
  return out;
}

}  // namespace lull::stack
