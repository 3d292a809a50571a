#pragma once

#include <optional>
#include <string>
#include <vector>

#include "run/map_choice.h"
#include "run/object.h"
#include "run/turning.h"

namespace lull::run {

/// What `lull derotate` is asked for.
struct DerotateRequest {
  std::vector<std::string> stacks;
  std::string output;                   ///< linear FITS; empty: after the first stack, or none
                                        ///< where a map is asked for
  Object object = Object::unspecified;  ///< unspecified: as the stacks' headers have it
  Turning turning{};
  std::optional<sky::Site> site{};
  std::string zone{};  ///< of the site; empty: not known
  MapChoice map{};
};

[[nodiscard]] const OptionTable<DerotateRequest>& derotate_options();

}  // namespace lull::run
