#pragma once

#include <string>
#include <vector>

#include "run/object.h"
#include "run/turning.h"

namespace lull::run {

/// What `lull derotate` is asked for.
struct DerotateRequest {
  std::vector<std::string> stacks;
  std::string output;                   ///< linear FITS; empty: after the first stack
  Object object = Object::unspecified;  ///< unspecified: as the stacks' headers have it
  Turning turning{};
};

[[nodiscard]] const OptionTable<DerotateRequest>& derotate_options();

}  // namespace lull::run
