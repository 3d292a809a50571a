#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "mosaic/layout.h"
#include "run/mosaic_request.h"

namespace lull::run {

/// Whether the limb is laid onto a circle, and its places are looked for.
/// @param shown  what options, stacks and names say.
[[nodiscard]] mosaic::Limbs limbs_of(LimbCircle asked, Object shown);

/// The limb of a mosaic.
struct JoinedLimb {
  mosaic::LimbFit fit;
  std::optional<double> arcsec_per_px;  ///< of the mosaic; where this is the Sun and dated
};

/// The limb as it was laid onto a circle; none where it was not. The Sun's apparent diameter on
/// that day (sky::aspect_of()) gives the angle of a pixel. @param cards  of the mosaic.
[[nodiscard]] std::optional<JoinedLimb> joined_limb(const mosaic::Layout& layout, Object shown,
                                                    const std::vector<files::Card>& cards);

/// Where stacks state another angle of a pixel than the Sun's diameter does: by 2% or more.
/// @return empty where there is nothing to say.
[[nodiscard]] std::string pixel_scale_note(const std::optional<JoinedLimb>& limb,
                                           const std::vector<files::Card>& cards);

/// Radius, flattening, how far places of the limb lie off, and the angle of a pixel; null where it
/// was not used.
[[nodiscard]] nlohmann::json joined_limb_json(const std::optional<JoinedLimb>& limb);

/// "0.02 px rms off it", by how much the circle is flattened, and the angle of a pixel.
[[nodiscard]] std::string limb_fit_text(const JoinedLimb& limb);

}  // namespace lull::run
