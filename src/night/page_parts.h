#pragma once

#include <optional>
#include <string>

#include "night/summary.h"

namespace lull::night {

// What the parts of a night's page have in common.

/// A name that someone else chose, as markup: it keeps the direction of its text to itself.
[[nodiscard]] std::string name_html(const std::string& name);

/// A figure of a record; none where it is not known.
[[nodiscard]] std::optional<double> figure(const Record& record, const char* name);

/// Where a picture stands in the page. @param record  one of the summary.
[[nodiscard]] std::string link_id(const Summary& summary, const Record& record);

}  // namespace lull::night
