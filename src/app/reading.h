#pragma once

#include "app/opening.h"
#include "capture/capture.h"

namespace lull::app {

/// How the options of the command line ask captures to be read.
/// @throws UsageError for a value that is none of the choices.
[[nodiscard]] capture::OpenOptions reading_of(const InputOptions& options);

}  // namespace lull::app
