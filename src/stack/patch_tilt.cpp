#include "stack/patch_tilt.h"

#include <cmath>
#include <complex>

#include "spectrum/phase_slope.h"

namespace lull::stack {

PatchTilt::PatchTilt(Size patch, double finest) {
  const spectrum::Spectrum bins(patch);
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double fx = bins.frequency_x(c);
      const double fy = bins.frequency_y(r);
      if (std::hypot(fx, fy) <= finest) coarse_.push_back({r, c, fx, fy, bins.multiplicity(c)});
    }
  }
}

Displacement PatchTilt::between(const spectrum::Spectrum& patch,
                                const spectrum::Spectrum& reference) const {
  spectrum::PhaseSlope slope;
  for (const Bin& bin : coarse_) {
    const std::complex<double> cross(patch.row(bin.row)[bin.column] *
                                     std::conj(reference.row(bin.row)[bin.column]));
    slope.add(cross, bin.fx, bin.fy, bin.multiplicity);
  }
  return slope.displacement().value_or(Displacement{});
}

}  // namespace lull::stack
