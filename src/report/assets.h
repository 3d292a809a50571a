#pragma once

#include <string_view>

/// Files that the build put into the program: see CMakeLists.txt.
namespace lull::report::assets {

extern const std::string_view look_css;
extern const std::string_view viewer_js;
extern const std::string_view charts_js;
extern const std::string_view uplot_js;
extern const std::string_view uplot_css;
extern const std::string_view uplot_licence;

}  // namespace lull::report::assets
