#include "run/mosaic_limb.h"

#include <fmt/format.h>

namespace lull::run {

mosaic::Limbs limbs_of(LimbCircle asked, Object shown) {
  const bool used =
      asked == LimbCircle::used || (asked == LimbCircle::automatic && shown == Object::sun);
  return used ? mosaic::Limbs::round : mosaic::Limbs::any;
}

nlohmann::json joined_limb_json(const std::optional<mosaic::LimbFit>& limb) {
  if (!limb) return {};
  return {{"radius_px", limb->curve.circle.radius_px},
          {"flattening", limb->curve.flattening.share()},
          {"rms_px", limb->rms_px}};
}

std::string limb_fit_text(const mosaic::LimbFit& limb) {
  const double flattened = limb.curve.flattening.share();
  std::string text = fmt::format("{:.2f} px rms off it", limb.rms_px);
  if (flattened > 0) text += fmt::format("; flattened by {:.2f}%", 100 * flattened);
  return text;
}

}  // namespace lull::run
