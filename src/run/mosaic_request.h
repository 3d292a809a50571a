#pragma once

#include <string>
#include <vector>

#include "mosaic/layout.h"
#include "run/look.h"
#include "run/option.h"
#include "run/report_choice.h"

namespace lull::run {

/// Whether the limb is laid onto a circle: automatic where the panels show the Sun.
enum class LimbCircle { automatic, used, left };

/// What `lull mosaic` is asked for.
struct MosaicRequest {
  std::vector<std::string> panels;
  std::string output;  ///< empty: named after the first panel
  std::string plot;    ///< SVG file, empty = none
  mosaic::Bends field = mosaic::Bends::followed;
  LimbCircle limb = LimbCircle::automatic;
  mosaic::Blurs blur_match = mosaic::Blurs::matched;
  mosaic::Lights light = mosaic::Lights::matched;
  Look look;
  ReportChoice report;

  /// The page's file, empty = none.
  [[nodiscard]] std::string report_path() const { return report.path_beside(output); }
};

[[nodiscard]] const OptionTable<MosaicRequest>& mosaic_options();

}  // namespace lull::run
