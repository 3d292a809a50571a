#include "health/optics.h"

#include <numbers>

namespace lull::health {

namespace {

constexpr double kArcsecPerRadian = 180 * 3600 / std::numbers::pi;

}  // namespace

double Optics::scale_arcsec_per_px() const {
  return kArcsecPerRadian * pixel_um * 1e-3 / focal_length_mm;
}

double Optics::px_per_lambda_over_d() const {
  return wavelength_nm * 1e-3 * focal_length_mm / (aperture_mm * pixel_um);
}

}  // namespace lull::health
