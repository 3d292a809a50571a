#pragma once

#include <string_view>

namespace lull::profile {

/// A profile to begin with: example.toml.
extern const std::string_view kExampleFile;

}  // namespace lull::profile
