#include "stack/patch_tilt.h"

#include <cmath>
#include <complex>
#include <numbers>

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
  double xx = 0;
  double xy = 0;
  double yy = 0;
  double x = 0;
  double y = 0;
  for (const Bin& bin : coarse_) {
    const std::complex<double> cross(patch.row(bin.row)[bin.column] *
                                     std::conj(reference.row(bin.row)[bin.column]));
    const double weight = std::abs(cross) * bin.multiplicity;
    const double phase = -std::arg(cross) / (2 * std::numbers::pi);
    xx += weight * bin.fx * bin.fx;
    xy += weight * bin.fx * bin.fy;
    yy += weight * bin.fy * bin.fy;
    x += weight * bin.fx * phase;
    y += weight * bin.fy * phase;
  }
  const double area = xx * yy - xy * xy;
  if (!(area > 0)) return {};
  return {(yy * x - xy * y) / area, (xx * y - xy * x) / area};
}

}  // namespace lull::stack
