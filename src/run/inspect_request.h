#pragma once

#include <string>

#include "run/capture_input.h"
#include "run/instrument.h"
#include "run/object.h"

namespace lull::run {

/// What `lull inspect` is asked for.
struct InspectRequest {
  CaptureInput input;
  Instrument instrument;
  Object object = Object::unspecified;
  std::string plot;  ///< SVG file, empty = none
};

[[nodiscard]] const OptionTable<InspectRequest>& inspect_options();

}  // namespace lull::run
