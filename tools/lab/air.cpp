#include "lab/air.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kArcsecPerRad = 206264.80624709636;
constexpr int kMostInstants = 8;
constexpr double kMostSwing = 3;  // of D / r0 over its mean

// n - 1 of air at a wavelength; Filippenko 1982, eq. 1 to 3 (Edlen 1953, Coleman et al. 1960).
double refractivity(double wavelength_m, const AirParameters& air) {
  const double s = std::pow(wavelength_m * 1e6, -2);
  const double sea_level = 64.328 + 29498.1 / (146 - s) + 255.4 / (41 - s);
  const double warmth = 1 + 0.003661 * air.temperature_c;
  const double dry = sea_level * air.pressure_mmhg *
                     (1 + (1.049 - 0.0157 * air.temperature_c) * 1e-6 * air.pressure_mmhg) /
                     (720.883 * warmth);
  const double water = air.water_mmhg * (0.0624 - 0.000680 * s) / warmth;
  return (dry - water) * 1e-6;
}

}  // namespace

double dispersion_arcsec(double wavelength_m, double reference_m, const AirParameters& air) {
  return kArcsecPerRad * (refractivity(wavelength_m, air) - refractivity(reference_m, air)) *
         std::tan(air.zenith_distance_deg * kPi / 180);
}

Air::Air(const Parameters& p, const Pupil& pupil, int screen_side)
    : parameters_(p.air),
      exposure_s_(p.camera.exposure_s),
      px_per_tilt_(pupil.diameter_steps / (2 * kPi * p.cutoff_cycles_per_px())),
      strength_({p.recording_seed(), key_of(Draw::air), 1}, 1 / p.air.swing_s),
      slow_strength_({p.recording_seed(), key_of(Draw::air), 4}, 1 / p.air.slow_swing_s),
      cloud_({p.recording_seed(), key_of(Draw::air), 2}, 1 / p.air.cloud_s) {
  if (p.air.d_over_r0 <= 0) return;
  const double steps_per_m = pupil.diameter_steps / p.telescope.aperture_m;
  const double rad_per_px = p.telescope.pixel_scale_arcsec / kArcsecPerRad;
  for (std::size_t i = 0; i < p.air.layers.size(); ++i) {
    const AirLayer& layer = p.air.layers[i];
    if (layer.share <= 0) continue;
    const double r0 = pupil.diameter_steps / p.air.d_over_r0 * std::pow(layer.share, -0.6);
    Random random({p.recording_seed(), key_of(Draw::air), 3, i});
    const double angle = layer.wind_deg * kPi / 180;
    layers_.push_back(
        {PhaseScreen(screen_side, r0, p.air.outer_scale_m * steps_per_m, p.recording_seed(), i),
         random.uniform(0, screen_side), random.uniform(0, screen_side),
         layer.wind_m_s * steps_per_m * std::cos(angle),
         layer.wind_m_s * steps_per_m * std::sin(angle), layer.height_m * rad_per_px * steps_per_m,
         r0});
    layers_.back().screen.prepare_tilts(pupil);
  }
}

double Air::d_over_r0(double time_s) const {
  const double swing = parameters_.d_over_r0_swing * strength_.at(time_s) +
                       parameters_.slow_swing * slow_strength_.at(time_s);
  return parameters_.d_over_r0 * std::min(std::exp(swing), kMostSwing);
}

double Air::transparency(double time_s) const {
  return std::exp(parameters_.cloud_swing * cloud_.at(time_s));
}

int Air::instants_per_exposure() const {
  double most = 1;
  for (const Layer& layer : layers_)
    most = std::max(most, std::hypot(layer.wind_x, layer.wind_y) * exposure_s_ / (layer.r0 / 3));
  return std::min(static_cast<int>(std::ceil(most)), kMostInstants);
}

Air::Instant Air::at(double time_s) const {
  Instant out;
  if (layers_.empty()) return out;
  out.strength = static_cast<float>(std::pow(d_over_r0(time_s) / parameters_.d_over_r0, 5.0 / 6));
  for (const Layer& layer : layers_) {
    out.layers.push_back(layer.screen.around(layer.start_x - layer.wind_x * time_s,
                                             layer.start_y - layer.wind_y * time_s));
  }
  return out;
}

void Air::phase(const Instant& instant, double x_px, double y_px, double wavelength_ratio,
                const Pupil& pupil, std::vector<float>& phase_rad) const {
  phase_rad.assign(pupil.points.size(), 0.0F);
  const float factor = instant.strength / static_cast<float>(wavelength_ratio);
  for (std::size_t i = 0; i < layers_.size(); ++i) {
    const Layer& layer = layers_[i];
    layer.screen.add(instant.layers[i], layer.steps_per_px * x_px, layer.steps_per_px * y_px,
                     wavelength_ratio, pupil, factor, phase_rad);
  }
}

Displacement Air::tilt(const Instant& instant, double x_px, double y_px) const {
  Displacement out;
  for (std::size_t i = 0; i < layers_.size(); ++i) {
    const Layer& layer = layers_[i];
    const Tilt tilt =
        layer.screen.tilt(instant.layers[i], layer.steps_per_px * x_px, layer.steps_per_px * y_px);
    out.x_px += tilt.x;
    out.y_px += tilt.y;
  }
  const double scale = px_per_tilt_ * static_cast<double>(instant.strength);
  return {out.x_px * scale, out.y_px * scale};
}

}  // namespace lull::lab
