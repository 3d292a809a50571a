#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "judge/mosaic.h"

namespace lull::judge {

/// All figures: px of the panels, dB, percent; with those of each tile.
[[nodiscard]] nlohmann::ordered_json to_json(const MosaicVerdict& verdict);

/// The same for reading, without the tiles; lines end in \n.
[[nodiscard]] std::string to_text(const MosaicVerdict& verdict);

}  // namespace lull::judge
