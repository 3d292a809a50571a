#pragma once

#include <complex>
#include <optional>

#include "core/geometry.h"

namespace lull::spectrum {

/// How far one picture is displaced from another, by the slope of the phases of their cross
/// spectrum: least squares, weighted by amplitude. Shift theorem: Bracewell, The Fourier Transform
/// and Its Applications, chapter 6 (from memory). Holds for displacements that turn no phase by
/// more than half a turn.
class PhaseSlope {
 public:
  /// @param cross  a bin of the one times the conjugate of that of the other.
  /// @param fx,fy  its frequency, cycles/px. @param multiplicity  bins of the whole spectrum.
  void add(std::complex<double> cross, double fx, double fy, double multiplicity);

  /// Place of what is seen in the one less that in the other. None where the bins do not fix both
  /// axes.
  [[nodiscard]] std::optional<Displacement> displacement() const;

 private:
  double xx_ = 0;
  double xy_ = 0;
  double yy_ = 0;
  double x_ = 0;
  double y_ = 0;
};

}  // namespace lull::spectrum
