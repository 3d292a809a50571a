#pragma once

#include <string>

#include "app/stack_run.h"

namespace lull::app {

/// Where the report goes: beside the output, where `--report` says, or nowhere (empty).
/// @throws UsageError for a name that is not that of a page.
[[nodiscard]] std::string report_path(const StackCommandOptions& options);

/// The page that shows the run. Nothing in it depends on when or where it ran.
[[nodiscard]] std::string stack_report(const StackRun& run);

}  // namespace lull::app
