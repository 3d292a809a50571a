#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/utc.h"
#include "run/object.h"
#include "run/option.h"

namespace lull::run {

/// Whether east and west are exchanged in the pictures.
enum class Mirrored { no, yes };

/// What `lull derotate` is asked for.
struct DerotateRequest {
  std::vector<std::string> stacks;
  std::string output;                   ///< linear FITS; empty: after the first stack
  Object object = Object::unspecified;  ///< unspecified: as the stacks' headers have it
  std::optional<double> north_deg{};    ///< from the top of the picture to north, clockwise
  Mirrored mirrored = Mirrored::no;
  std::optional<Utc> moment{};  ///< none: the middle, weighted by quality
};

[[nodiscard]] const OptionTable<DerotateRequest>& derotate_options();

}  // namespace lull::run
