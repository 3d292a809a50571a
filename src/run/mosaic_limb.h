#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

#include "mosaic/layout.h"
#include "run/mosaic_request.h"

namespace lull::run {

/// Whether the limb is laid onto a circle, and its places are looked for.
/// @param shown  what options, stacks and names say.
[[nodiscard]] mosaic::Limbs limbs_of(LimbCircle asked, Object shown);

/// Radius, flattening, and how far places of the limb lie off; null where it was not used.
[[nodiscard]] nlohmann::json joined_limb_json(const std::optional<mosaic::LimbFit>& limb);

/// "0.02 px rms off it", and by how much the circle is flattened.
[[nodiscard]] std::string limb_fit_text(const mosaic::LimbFit& limb);

}  // namespace lull::run
