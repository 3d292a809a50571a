#pragma once

#include <string>
#include <vector>

#include "health/optics.h"
#include "run/plan_values.h"
#include "sky/aspect.h"

namespace lull::run {

/// What the air does to the light of a filter.
struct BandDispersion {
  NamedBand band;
  double spread_arcsec = 0;     ///< between its edges, at the best altitude
  double corrected_arcsec = 0;  ///< what stays with a corrector of two prisms
  double at_30_arcsec = 0;      ///< between its edges at 30 degrees
};

[[nodiscard]] std::vector<BandDispersion> dispersion_of(const std::vector<NamedBand>& bands,
                                                        double altitude_deg, const sky::Air& air);

/// How long until rotation smears the middle of the disc.
struct Smear {
  std::string where;  ///< "equator (I)": with the system of longitudes
  double half_px_s = 0;
  double one_px_s = 0;
};

/// Exposure and frames for a filter, by the brightness of a full disc.
struct BandExposure {
  NamedBand band;
  double px_per_lambda_over_d = 0;
  double electrons_per_ms = 0;  ///< in a pixel
  double exposure_ms = 0;
  double electrons = 0;      ///< in that time
  double frames = 0;         ///< to reach the wanted signal over noise, by photon noise alone
  double half_detail_s = 0;  ///< until rotation smears half of lambda / D
};

/// How to record with the optics at hand.
struct RecordingPlan {
  health::Optics optics{};
  double scale_arcsec_per_px = 0;
  double diameter_px = 0;
  double height_px = 0;
  double px_per_lambda_over_d = 0;
  double extender_least = 1;          ///< factor on the focal length for 2 pixels in lambda / D
  double extender_most = 1;           ///< for 3
  double surface_brightness_mag = 0;  ///< of the mean of the disc, a square arcsec
  bool solar_filter = false;          ///< whether that is behind the filter for the Sun
  std::vector<Smear> smears{};
  std::vector<BandExposure> exposures{};
};

/// Rules of common practice (no source): 3 pixels in lambda / D are plenty; 30% of the light
/// reaches the sensor's counts; exposures of at most 10 ms follow the air, and need no more than
/// 1000 electrons; the Sun is behind a filter that lets 1 / 100,000 pass.
[[nodiscard]] RecordingPlan plan_recording(sky::Body body, const sky::Observer& observer,
                                           const health::Optics& optics,
                                           const std::vector<NamedBand>& bands,
                                           double signal_to_noise);

}  // namespace lull::run
