#include "sky/observer.h"

#include <erfa.h>
#include <erfam.h>

namespace lull::sky {

namespace {

Vector vector_of(const double p[3]) { return {{p[0], p[1], p[2]}}; }

constexpr double kMetresPerAu = ERFA_DAU;
constexpr double kLightAuPerDay = ERFA_DC;

}  // namespace

Observer::Observer(Utc utc, const std::optional<Site>& site)
    : moment_(moment_of(utc)), site_(site) {
  const JulianDate& tt = moment_.terrestrial;
  double heliocentric[2][3];
  double barycentric[2][3];
  // Its status only warns of years outside 1900 to 2100.
  static_cast<void>(eraEpv00(tt.whole, tt.part, heliocentric, barycentric));
  earth_au_ = vector_of(barycentric[0]);
  earth_au_per_day_ = vector_of(barycentric[1]);
  sun_au_ = earth_au_ - vector_of(heliocentric[0]);
  place_au_ = earth_au_;
  velocity_ = earth_au_per_day_ * (1 / kLightAuPerDay);
  // Nutation of 77 terms: good to 1 milliarcsecond (IAU 2000B).
  double to_date[3][3];
  eraPnm00b(tt.whole, tt.part, to_date);
  for (std::size_t i = 0; i < 3; ++i) to_date_.rows[i] = vector_of(to_date[i]);
  const double greenwich = eraGst00b(moment_.universal.whole, moment_.universal.part);
  sidereal_rad_ = greenwich;
  if (site) stand_on(*site, greenwich);
}

void Observer::stand_on(const Site& site, double sidereal_greenwich_rad) {
  double on_earth[2][3];
  eraPvtob(site.longitude_deg * kDegree, site.latitude_deg * kDegree, site.height_m, 0, 0, 0,
           sidereal_greenwich_rad, on_earth);
  const Rotation from_date = to_date_.inverse();
  place_au_ = place_au_ + from_date * vector_of(on_earth[0]) * (1 / kMetresPerAu);
  velocity_ = velocity_ + from_date * vector_of(on_earth[1]) * (1 / ERFA_CMPS);
  sidereal_rad_ = sidereal_greenwich_rad + site.longitude_deg * kDegree;
}

}  // namespace lull::sky
