#pragma once

#include "night/night_folder.h"
#include "night/summary.h"

namespace lull::night {

/// Writes night.html, night.csv and night.json together. @throws OutputError.
void write_summary(const Summary& summary, const NightFolder& place);

}  // namespace lull::night
