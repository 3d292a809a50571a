#include "lab/optics.h"

#include <algorithm>
#include <cmath>

namespace lull::lab {

namespace {

// A canvas holds the finest detail with a little room, which the splines need.
constexpr double kHighestCutoff = 0.46;

double shortest_ratio(const Parameters& p) {
  double shortest = 1;
  for (const double wavelength : p.wavelengths_m())
    shortest =
        std::min(shortest, (wavelength - p.telescope.bandwidth_m / 2) / p.telescope.wavelength_m);
  return shortest;
}

int fineness_of(const Parameters& p) {
  const double cutoff = p.cutoff_cycles_per_px() / shortest_ratio(p);
  return std::max(1, static_cast<int>(std::ceil(cutoff / kHighestCutoff)));
}

// Wide enough for nearly all light of a poor instant: its halo is about lambda / r0 wide.
int psf_side_of(const Parameters& p) {
  const double cutoff = p.cutoff_cycles_per_px() / fineness_of(p);
  const double wanted = std::max(16.0, 2.6 * p.air.worst_d_over_r0()) / cutoff;
  for (const int side : {48, 64, 96, 128, 160, 192, 256, 320, 384}) {
    if (side >= wanted) return side;
  }
  return 512;
}

std::vector<double> band(double wavelength_m, double bandwidth_m) {
  if (bandwidth_m <= 0) return {wavelength_m};
  return {wavelength_m - bandwidth_m / 3, wavelength_m, wavelength_m + bandwidth_m / 3};
}

Pupil pupil_of(const Parameters& p, double ratio, int fineness, int psf_side) {
  // A longer wave sees the same glass errors as smaller phases.
  std::vector<double> aberrations = p.telescope.aberrations_rad;
  for (double& value : aberrations) value /= ratio;
  return {psf_side, p.cutoff_cycles_per_px() / fineness / ratio, p.telescope.obstruction,
          aberrations};
}

}  // namespace

Optics::Optics(const Parameters& p)
    : fineness(fineness_of(p)),
      psf_side(psf_side_of(p)),
      reference(pupil_of(p, 1, fineness, psf_side)) {
  for (const double wavelength : p.wavelengths_m()) {
    std::vector<Colour> colours;
    for (const double part : band(wavelength, p.telescope.bandwidth_m)) {
      const double ratio = part / p.telescope.wavelength_m;
      colours.push_back({ratio, pupil_of(p, ratio, fineness, psf_side)});
    }
    channels.push_back(std::move(colours));
  }
}

}  // namespace lull::lab
