#pragma once

#include <string>

#include "run/mosaic_outcome.h"

namespace lull::run {

/// A map of the mosaic as an SVG document: outlines of the panels, numbered as they were given,
/// what each resolves, which overlap which and on how many places that rests, where shadows moved,
/// and holes. Up is up in the mosaic.
[[nodiscard]] std::string mosaic_map(const MosaicOutcome& outcome);

}  // namespace lull::run
