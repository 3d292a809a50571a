#pragma once

#include <string>

#include "night/summary.h"

namespace lull::night {

/// How air, sharpness, focus and drift went through the night, as a section of its page; empty
/// where too few pictures have a date.
[[nodiscard]] std::string courses_html(const Summary& summary);

}  // namespace lull::night
