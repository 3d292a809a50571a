#pragma once

#include <string_view>

/// Files that the build put into the program: see CMakeLists.txt.
namespace lull::night::page {

extern const std::string_view kNightCss;
extern const std::string_view kNightJs;

}  // namespace lull::night::page
