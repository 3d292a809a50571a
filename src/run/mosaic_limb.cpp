#include "run/mosaic_limb.h"

#include <fmt/format.h>

#include <cmath>

#include "run/stack_header.h"
#include "sky/aspect.h"
#include "sky/moment.h"

namespace lull::run {

mosaic::Limbs limbs_of(LimbCircle asked, Object shown) {
  const bool used =
      asked == LimbCircle::used || (asked == LimbCircle::automatic && shown == Object::sun);
  return used ? mosaic::Limbs::round : mosaic::Limbs::any;
}

std::optional<JoinedLimb> joined_limb(const mosaic::Layout& layout, Object shown,
                                      const std::vector<files::Card>& cards) {
  const auto fit = mosaic::limb_of(layout.limb, layout.maps);
  if (!fit) return std::nullopt;
  JoinedLimb out{*fit, std::nullopt};
  const auto moment = moment_in(cards, "DATE-OBS");
  if (shown == Object::sun && moment && sky::is_covered(*moment)) {
    const sky::Aspect sun = sky::aspect_of(sky::Body::sun, sky::Observer(*moment));
    out.arcsec_per_px = sun.equatorial_arcsec / (2 * fit->curve.circle.radius_px);
  }
  return out;
}

std::string pixel_scale_note(const std::optional<JoinedLimb>& limb,
                             const std::vector<files::Card>& cards) {
  constexpr double kOtherScale = 0.02;
  const auto stated = arcsec_per_px(cards);
  if (!limb || !limb->arcsec_per_px || !stated) return {};
  if (std::abs(*stated / *limb->arcsec_per_px - 1) < kOtherScale) return {};
  return fmt::format(
      "the stacks state {:.3f} arcsec a pixel, the Sun's diameter on that day says {:.3f}: check "
      "the focal length and the pixel size that they were stacked with",
      *stated, *limb->arcsec_per_px);
}

nlohmann::json joined_limb_json(const std::optional<JoinedLimb>& limb) {
  if (!limb) return {};
  return {{"radius_px", limb->fit.curve.circle.radius_px},
          {"flattening", limb->fit.curve.flattening.share()},
          {"rms_px", limb->fit.rms_px},
          {"arcsec_per_px",
           limb->arcsec_per_px ? nlohmann::json(*limb->arcsec_per_px) : nlohmann::json()}};
}

std::string limb_fit_text(const JoinedLimb& limb) {
  const double flattened = limb.fit.curve.flattening.share();
  std::string text = fmt::format("{:.2f} px rms off it", limb.fit.rms_px);
  if (flattened > 0) text += fmt::format("; flattened by {:.2f}%", 100 * flattened);
  if (limb.arcsec_per_px)
    text += fmt::format("; {:.3f} arcsec a pixel by the Sun's diameter", *limb.arcsec_per_px);
  return text;
}

}  // namespace lull::run
