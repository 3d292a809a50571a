#include "spectrum/phase_slope.h"

#include <cmath>
#include <numbers>

namespace lull::spectrum {

void PhaseSlope::add(std::complex<double> cross, double fx, double fy, double multiplicity) {
  const double weight = std::abs(cross) * multiplicity;
  const double phase = -std::arg(cross) / (2 * std::numbers::pi);
  xx_ += weight * fx * fx;
  xy_ += weight * fx * fy;
  yy_ += weight * fy * fy;
  x_ += weight * fx * phase;
  y_ += weight * fy * phase;
}

std::optional<Displacement> PhaseSlope::displacement() const {
  const double area = xx_ * yy_ - xy_ * xy_;
  if (!(area > 0)) return std::nullopt;
  return Displacement{(yy_ * x_ - xy_ * y_) / area, (xx_ * y_ - xy_ * x_) / area};
}

}  // namespace lull::spectrum
