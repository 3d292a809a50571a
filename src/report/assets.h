#pragma once

#include <string_view>

/// Files that the build put into the program: see CMakeLists.txt.
namespace lull::report::assets {

extern const std::string_view kLookCss;
extern const std::string_view kViewerJs;
extern const std::string_view kChartsJs;
extern const std::string_view kUplotJs;
extern const std::string_view kUplotCss;
extern const std::string_view kUplotLicence;

}  // namespace lull::report::assets
