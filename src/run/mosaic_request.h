#pragma once

#include <string>
#include <vector>

#include "mosaic/layout.h"
#include "run/look.h"
#include "run/option.h"

namespace lull::run {

/// What `lull mosaic` is asked for.
struct MosaicRequest {
  std::vector<std::string> panels;
  std::string output;  ///< empty: named after the first panel
  std::string plot;    ///< SVG file, empty = none
  mosaic::Bends field = mosaic::Bends::followed;
  mosaic::Blurs blur_match = mosaic::Blurs::matched;
  mosaic::Lights light = mosaic::Lights::matched;
  Look look;
};

[[nodiscard]] const OptionTable<MosaicRequest>& mosaic_options();

}  // namespace lull::run
