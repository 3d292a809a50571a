#include "run/recording_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "sky/brightness.h"

namespace lull::run {

namespace {

using sky::Body;
using sky::LongitudeSystem;

constexpr double kLeastSampling = 2;  // health/optics.h
// What follows is common practice, no source.
constexpr double kMostSampling = 3;
constexpr double kCounted = 0.3;  // part of the light that becomes electrons
constexpr double kLongest_ms = 10;
constexpr double kShortest_ms = 0.1;
constexpr double kEnoughElectrons = 1000;
constexpr double kSolarFilter_mag = 12.5;  // optical density 5
constexpr std::array kLatitudes_deg = {0.0, 30.0, 60.0};

// Jupiter's clouds near the equator are those of System I.
LongitudeSystem system_at(Body body, double latitude_deg) {
  if (body != Body::jupiter) return LongitudeSystem::three;
  return latitude_deg < 10 ? LongitudeSystem::one : LongitudeSystem::two;
}

std::string place_name(Body body, double latitude_deg) {
  std::string name = latitude_deg == 0 ? "equator" : fmt::format("latitude {:.0f}", latitude_deg);
  if (body == Body::jupiter) name += latitude_deg < 10 ? " (I)" : " (II)";
  return name;
}

// Speed over the disc of a point that passes its middle, arcsec a second.
double speed_arcsec(Body body, const sky::Observer& observer, double radius_arcsec,
                    double latitude_deg) {
  const double turning = sky::turning_deg_per_hour(body, observer, system_at(body, latitude_deg));
  return radius_arcsec * turning * sky::kDegree / 3600 * std::cos(latitude_deg * sky::kDegree);
}

double electrons_per_ms(double photons, const health::Optics& optics, const sky::Band& band) {
  const double area_m2 = std::numbers::pi / 4e6 * optics.aperture_mm * optics.aperture_mm;
  const double pixel = optics.scale_arcsec_per_px();
  return 1e-3 * kCounted * photons * area_m2 * pixel * pixel * (band.to_nm - band.from_nm);
}

BandExposure exposure_of(const NamedBand& named, double photons, const health::Optics& optics,
                         double signal_to_noise) {
  health::Optics in_band = optics;
  in_band.wavelength_nm = named.band.middle_nm();
  BandExposure out{named};
  out.px_per_lambda_over_d = in_band.px_per_lambda_over_d();
  out.electrons_per_ms = electrons_per_ms(photons, optics, named.band);
  out.exposure_ms = std::clamp(kEnoughElectrons / out.electrons_per_ms, kShortest_ms, kLongest_ms);
  out.electrons = out.exposure_ms * out.electrons_per_ms;
  out.frames = std::ceil(signal_to_noise * signal_to_noise / out.electrons);
  return out;
}

}  // namespace

std::vector<BandDispersion> dispersion_of(const std::vector<NamedBand>& bands, double altitude_deg,
                                          const sky::Air& air) {
  std::vector<BandDispersion> out;
  for (const NamedBand& named : bands) {
    out.push_back({named, sky::band_dispersion_arcsec(named.band, altitude_deg, air),
                   sky::corrected_dispersion_arcsec(named.band, altitude_deg, air),
                   sky::band_dispersion_arcsec(named.band, 30, air)});
  }
  return out;
}

RecordingPlan plan_recording(Body body, const sky::Observer& observer, const health::Optics& optics,
                             const std::vector<NamedBand>& bands, double signal_to_noise) {
  const sky::Aspect aspect = sky::aspect_of(body, observer);
  RecordingPlan plan;
  plan.optics = optics;
  plan.scale_arcsec_per_px = optics.scale_arcsec_per_px();
  plan.diameter_px = aspect.equatorial_arcsec / plan.scale_arcsec_per_px;
  plan.height_px = aspect.polar_arcsec / plan.scale_arcsec_per_px;
  plan.px_per_lambda_over_d = optics.px_per_lambda_over_d();
  plan.extender_least = kLeastSampling / plan.px_per_lambda_over_d;
  plan.extender_most = kMostSampling / plan.px_per_lambda_over_d;
  const double radius = 0.5 * aspect.equatorial_arcsec;
  for (const double latitude : kLatitudes_deg) {
    const double speed_px =
        speed_arcsec(body, observer, radius, latitude) / plan.scale_arcsec_per_px;
    plan.smears.push_back({place_name(body, latitude), 0.5 / speed_px, 1 / speed_px});
  }
  plan.solar_filter = body == Body::sun;
  plan.surface_brightness_mag =
      sky::surface_brightness_mag(body, aspect) + (plan.solar_filter ? kSolarFilter_mag : 0);
  const double photons = sky::photon_rate(plan.surface_brightness_mag);
  for (const NamedBand& named : bands) {
    BandExposure exposure = exposure_of(named, photons, optics, signal_to_noise);
    exposure.half_detail_s = plan.smears.front().one_px_s * 0.5 * exposure.px_per_lambda_over_d;
    plan.exposures.push_back(std::move(exposure));
  }
  return plan;
}

}  // namespace lull::run
