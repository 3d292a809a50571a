#pragma once

#include <string>

#include "desk/http.h"

namespace lull::desk {

/// A file as it is.
[[nodiscard]] Response plain_response(const std::string& file);

/// A page that a run wrote. A report has its scripts in itself. It is opened as if it came from
/// nowhere, so that these reach nothing of the desk.
[[nodiscard]] Response report_response(const std::string& file);

/// The page of a night. It leads to reports, so it must be of the desk; but no script runs in it
/// except the one that this version writes.
[[nodiscard]] Response night_page_response(const std::string& file);

}  // namespace lull::desk
