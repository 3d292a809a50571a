#pragma once

#include <optional>
#include <vector>

#include "align/node_grid.h"
#include "align/padded_frame.h"
#include "align/patch_correlator.h"
#include "align/shift_field.h"
#include "core/plane.h"

namespace lull::align {

struct PatchSearchOptions {
  int side_px = 64;
  int spacing_px = 48;             ///< at least; wider where there would be more than most_patches
  int most_patches = 60;           ///< enough for the smooth field that they start
  double reach_px = 12;            ///< longest local shift that is looked for
  double worst_expected_px = 0.7;  ///< patches whose shift cannot be better known are left out
  double least_peak = 4.5;         ///< over the rms of its surroundings
  double neighbour_px = 2.5;       ///< a patch farther off the median of its neighbours is wrong
};

/// First estimate of a shift field, for shifts beyond what gradients can see: patches are placed
/// where there is structure, correlated one by one, checked against their neighbours, and joined to
/// a smooth field, each with the weight of its peak.
///
/// Structure: the smaller eigenvalue of the patch's sum of gradient products gives the largest
/// expected error of a shift, noise / sqrt(eigenvalue): the Cramer-Rao bound (Robinson & Milanfar
/// 2004, IEEE Trans. Image Processing 13, 1185).
class PatchSearch {
 public:
  /// @param gradient_x,gradient_y of the reference, 0 where it holds no data.
  /// @param noise standard deviation of a sample of the frames, light.
  PatchSearch(PlaneView reference, PlaneView gradient_x, PlaneView gradient_y, double noise,
              const PatchSearchOptions& options);

  /// Patches of the reference that hold enough structure to be searched.
  int patch_count() const { return static_cast<int>(patches_.size()); }

  /// Memory for one thread.
  struct Workspace {
    std::optional<PatchCorrelator> correlator;
    spectrum::Spectrum spectrum;
    Plane turned;  ///< a patch of a frame whose field is turned
    std::vector<float> x, y;
  };

  /// Sets the field's local shifts. @return patches whose shift was used.
  int search(const PaddedFrame& frame, ShiftField& field, Workspace& workspace) const;

 private:
  struct Patch {
    int left = 0;
    int top = 0;
    int column = 0;  ///< of the grid of patches
    int row = 0;
    spectrum::Spectrum spectrum;
  };

  struct Found {
    bool used = false;
    FrameOffset offset;
    double weight = 0;
  };

  [[nodiscard]] Found correlate(const Patch& patch, const PaddedFrame& frame,
                                const ShiftField& field, Workspace& workspace) const;
  void drop_outliers(std::vector<Found>& found) const;
  void join(const std::vector<Found>& found, ShiftField& field) const;

  PatchSearchOptions options_;
  std::vector<Patch> patches_;
};

}  // namespace lull::align
