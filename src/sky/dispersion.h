#pragma once

#include "sky/horizon.h"

namespace lull::sky {

/// Edges of what a filter lets through.
struct Band {
  double from_nm = 400;
  double to_nm = 700;

  [[nodiscard]] double middle_nm() const { return 0.5 * (from_nm + to_nm); }
};

/// Refractive index of air less 1. Filippenko 1982, PASP 94, 715 (after Edlen and Barrell); for
/// 200 to 2000 nm.
[[nodiscard]] double refractivity(double wavelength_nm, const Air& air);

/// How much higher the light of one wavelength stands than that of another, arcsec. Filippenko
/// 1982: good to some percent down to 10 degrees.
[[nodiscard]] double dispersion_arcsec(double wavelength_nm, double other_nm,
                                       double apparent_altitude_deg, const Air& air);

/// Between the edges of a band.
[[nodiscard]] double band_dispersion_arcsec(const Band& band, double apparent_altitude_deg,
                                            const Air& air);

/// What stays between the edges when a pair of prisms brings the edges together: glass spreads
/// colours differently from air. The greatest distance of a colour within the band from the edges.
/// Prisms of borosilicate crown glass, by its published Sellmeier formula.
[[nodiscard]] double corrected_dispersion_arcsec(const Band& band, double apparent_altitude_deg,
                                                 const Air& air);

}  // namespace lull::sky
