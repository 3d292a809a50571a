#pragma once

#include <string>

#include "night/night_folder.h"
#include "night/summary.h"

namespace lull::night {

/// One HTML document over all pictures of a night, which needs nothing else: no network, no other
/// file but the reports that it links to. Without scripts it still shows all pictures and figures.
/// Same bytes for the same summary.
[[nodiscard]] std::string night_page(const Summary& summary, const NightFolder& place);

/// What a browser may do with the page: no script runs but its own.
[[nodiscard]] std::string page_policy();

}  // namespace lull::night
