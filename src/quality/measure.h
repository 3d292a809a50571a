#pragma once

#include <array>
#include <string_view>
#include <vector>

#include "capture/frame.h"
#include "quality/cell_grid.h"
#include "quality/luminance.h"
#include "quality/reduce.h"

namespace lull::quality {

/// The sharpness measures. All are energies: mean squares over a cell, of light.
enum class Metric {
  gradient,            ///< central differences, |grad I|^2 (energy of gradient)
  laplacian,           ///< 4-neighbour Laplacian, squared (Pech-Pacheco et al. 2000)
  modified_laplacian,  ///< (|I_xx| + |I_yy|)^2 of the cell's mean (Nayar & Nakagawa 1994)
  finest,              ///< Laplacian at step 2 of 2 x 2 px means: detail of about 4 to 7 px
  fine,                ///< Laplacian at step 2 of 4 x 4 px means: detail of about 5 to 10 px
  coarse,              ///< Laplacian at step 4 of smoothed 4 x 4 px means: about 12 to 24 px
};

inline constexpr std::array kMetrics = {
    Metric::gradient, Metric::laplacian, Metric::modified_laplacian,
    Metric::finest,   Metric::fine,      Metric::coarse};

[[nodiscard]] std::string_view metric_name(Metric metric);

/// What white noise of standard deviation 1 adds to the energy, from the squared coefficients of
/// the measure's stencil. @param colour  of the capture: the smoothing of a mosaic's luminance is
/// part of the stencil; the noise is then that of the mosaic.
[[nodiscard]] double noise_gain(Metric metric, capture::Colour colour);

/// One frame on the cell grid, in stored units (see Luminance::scale).
struct CellMeasure {
  CellGrid energy;              ///< mean energy over the cell, noise included
  CellGrid mean;                ///< mean of the samples
  std::vector<bool> saturated;  ///< a 4 x 4 block of the cell is at full scale
};

/// Memory for one thread; sizes adapt to the frame.
struct MeasureWorkspace {
  HalfPlane half;
  Plane quarter;  ///< sums of 4 x 4 pixels of the frame last measured
  Plane smooth;
  std::vector<std::uint16_t> box_integers;
  Plane box_floats;
  std::vector<std::uint32_t> sums_integer;
  std::vector<float> sums_float;
  std::vector<float> scratch;
};

/// Measures a frame in one pass over its pixels. At least kCellPx pixels a side.
/// Cost: O(pixels); allocates only at a new size.
[[nodiscard]] CellMeasure measure(const Luminance& luminance, Metric metric,
                                  MeasureWorkspace& workspace);

/// The energy of the frame by another measure. The frame must be the one last measured with this
/// workspace, in which its sums are.
[[nodiscard]] CellGrid energy_of_measured(const Luminance& luminance, Metric metric,
                                          MeasureWorkspace& workspace);

}  // namespace lull::quality
