#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "core/plane.h"
#include "lab/canvas.h"

namespace lull::lab {

/// What is known of a simulated capture.
struct Truth {
  std::vector<Plane> picture;   ///< a plane a channel, size of the frame
  std::vector<Plane> extended;  ///< the same with a rim of NodeField::kRim px
  /// Where frame pixels are too coarse for the optics: `extended` before pixels took its mean, on
  /// a grid finer by `fineness`.
  std::vector<Plane> fine;
  int fineness = 1;
  double cutoff_cycles_per_px = 0;
  std::vector<double> wavelength_ratios;  ///< of the channels over the reference
  Box judged;                             ///< what every good result shows
  std::vector<NodeField> fields;          ///< displacement of each frame besides its shift
};

/// Frame by frame, beside the truth.
struct FrameTruth {
  double time_s = 0;
  Displacement shift;
  double strehl_tilt_removed = 0;  ///< mean over the lit field
  double strehl_on_axis = 0;       ///< in the centre, at the place without any tilt
  double brightness = 1;
  std::string fault;
};

/// FITS (version 4.0): primary image the picture, first row = top of the frame; images EXTENDED and
/// SHIFT_FIELD (columns, rows, x and y, frames; nodes at GX0, GY0 and every GSTEP px); cards
/// CUTOFF, EXT, BOXY0 ..., LAM0 ... Not atomic: the caller gives a temporary name.
/// @throws OutputError
void write_truth(const std::filesystem::path& path, const Truth& truth);

/// The fine picture alone, in its own pixels: image EXTENDED and cards as above. A stack enlarged
/// by the fineness can be judged against it. @throws OutputError
void write_fine_truth(const std::filesystem::path& path, const Truth& truth);

/// The table of frames as CSV.
[[nodiscard]] std::string frame_table(const std::vector<FrameTruth>& frames);

}  // namespace lull::lab
