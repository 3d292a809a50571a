#pragma once

#include <optional>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "spectrum/fft.h"

namespace lull::align {

/// What is known of shift fields before a frame is seen.
struct ShiftPriorOptions {
  /// Mean square of a local shift, both axes together.
  double variance_px2 = 8;
  /// Power falls with frequency f (cycles/px) as exp(-decay_px f): the layers of the air are seen
  /// through an aperture, which averages what is smaller.
  double decay_px = 192;
  /// Power of turns over that of gradients.
  double turning = 0.02;
  double accuracy = 0.01;  ///< of a prediction: residual over the right side
};

/// Shift fields as a Gaussian random field, and their best linear prediction from observations with
/// known precisions (kriging; Rasmussen & Williams 2006, Gaussian Processes for Machine Learning,
/// equation 2.25). The shift of a place is the mean slope of the wave front in front of the
/// aperture, so the field is the gradient of a potential: turns have hardly any power. The whole
/// shift is left free.
class ShiftPrior {
 public:
  /// @param grid  columns and rows of places. @param step_px  between neighbours.
  ShiftPrior(Size grid, double step_px, const ShiftPriorOptions& options);

  [[nodiscard]] Size grid() const { return grid_; }

  /// Place by place, row by row: the precision matrix of what was observed, 1/px^2, and this matrix
  /// times the shift that was observed, 1/px.
  struct Observations {
    std::vector<float> xx, xy, yy, x, y;
  };

  /// Fourier coefficients of the two potentials, and the whole shift. All have variance 1 before.
  struct Modes {
    spectrum::Spectrum slope, turn;
    double whole_x = 0;
    double whole_y = 0;
  };

  /// Memory for one thread.
  struct Workspace {
    std::optional<spectrum::Fft> fft;
    Modes found;  ///< of the last prediction
    Modes right, residual, direction, image;
    spectrum::Spectrum bins;
    Plane padded, x, y;
  };

  enum class Start { zero, last };

  /// The most probable field, by conjugate gradients (Hestenes & Stiefel 1952, Journal of Research
  /// of the National Bureau of Standards 49, 409). @param start  the last one shortens the way.
  void predict(const Observations& seen, Start start, Workspace& work, std::vector<float>& x,
               std::vector<float>& y) const;

 private:
  void prepare(Workspace& work) const;
  void to_field(const Modes& modes, Workspace& work) const;
  void to_modes(Workspace& work, Modes& out) const;
  void apply(const Observations& seen, const Modes& in, Workspace& work, Modes& out) const;
  [[nodiscard]] double dot(const Modes& a, const Modes& b) const;
  static void add(double factor, const Modes& from, double keep, Modes& to);

  Size grid_;
  Size padded_;
  /// Amplitudes of the bins: x and y component of a slope; a turn has -y and x.
  std::vector<float> along_x_, along_y_;
  double accuracy_;
  float turning_;
};

}  // namespace lull::align
