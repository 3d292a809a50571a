#pragma once

#include <vector>

#include "lab/canvas.h"
#include "lab/parameters.h"
#include "lab/pupil.h"

namespace lull::lab {

/// How a run is laid out on grids: how fine the canvas is, how large point spread functions are.
struct Optics {
  /// The light of one channel is made of one wavelength, or of three over the band.
  struct Colour {
    double wavelength_ratio = 1;  ///< over the reference
    Pupil pupil;
  };

  int fineness = 1;
  int psf_side = 64;                          ///< canvas pixels
  Pupil reference;                            ///< of the reference wavelength
  std::vector<std::vector<Colour>> channels;  ///< colours of each channel

  explicit Optics(const Parameters& parameters);
};

}  // namespace lull::lab
