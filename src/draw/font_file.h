#pragma once

#include <string_view>

namespace lull::draw {

/// DejaVuSans.ttf as the build found it: see CMakeLists.txt. Its name table holds its licence,
/// which allows it to be embedded and asks that its notice goes with every copy.
extern const std::string_view kDejavuSans;

}  // namespace lull::draw
