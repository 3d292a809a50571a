#include "sky/dispersion.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace lull::sky {

namespace {

constexpr double kMmHgPerHpa = 760 / 1013.25;
constexpr int kColours = 32;  // within a band

// Sellmeier: n^2 - 1 is the sum of strength x^2 / (x^2 - resonance), x = wavelength, um.
struct Resonance {
  double strength;
  double um2;
};

constexpr std::array kCrownGlass = {Resonance{1.03961212, 0.00600069867},
                                    Resonance{0.231792344, 0.0200179144},
                                    Resonance{1.01046945, 103.560653}};

double glass_index(double wavelength_nm) {
  const double um2 = 1e-6 * wavelength_nm * wavelength_nm;
  double square = 1;
  for (const Resonance& resonance : kCrownGlass)
    square += resonance.strength * um2 / (um2 - resonance.um2);
  return std::sqrt(square);
}

}  // namespace

double refractivity(double wavelength_nm, const Air& air) {
  const double per_um2 = 1e6 / (wavelength_nm * wavelength_nm);
  const double pressure = air.pressure_hpa * kMmHgPerHpa;
  const double t = air.temperature_c;
  const double standard = 64.328 + 29498.1 / (146 - per_um2) + 255.4 / (41 - per_um2);
  const double dry = standard * pressure * (1 + (1.049 - 0.0157 * t) * 1e-6 * pressure) /
                     (720.883 * (1 + 0.003661 * t));
  const double wet =
      air.vapour_hpa * kMmHgPerHpa * (0.0624 - 0.000680 * per_um2) / (1 + 0.003661 * t);
  return 1e-6 * (dry - wet);
}

double dispersion_arcsec(double wavelength_nm, double other_nm, double apparent_altitude_deg,
                         const Air& air) {
  return kArcsecPerRadian * (refractivity(wavelength_nm, air) - refractivity(other_nm, air)) /
         std::tan(apparent_altitude_deg * kDegree);
}

double band_dispersion_arcsec(const Band& band, double apparent_altitude_deg, const Air& air) {
  return dispersion_arcsec(band.from_nm, band.to_nm, apparent_altitude_deg, air);
}

double corrected_dispersion_arcsec(const Band& band, double apparent_altitude_deg, const Air& air) {
  const double whole = band_dispersion_arcsec(band, apparent_altitude_deg, air);
  const double glass = glass_index(band.from_nm) - glass_index(band.to_nm);
  double most = 0;
  for (int i = 1; i < kColours; ++i) {
    const double nm = band.from_nm + (band.to_nm - band.from_nm) * i / kColours;
    const double by_air = dispersion_arcsec(nm, band.to_nm, apparent_altitude_deg, air);
    const double by_glass = whole * (glass_index(nm) - glass_index(band.to_nm)) / glass;
    most = std::max(most, std::abs(by_air - by_glass));
  }
  return most;
}

}  // namespace lull::sky
