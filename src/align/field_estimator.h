#pragma once

#include <optional>
#include <vector>

#include "align/node_grid.h"
#include "align/padded_frame.h"
#include "align/patch_search.h"
#include "align/shift_field.h"
#include "core/plane.h"

namespace lull::align {

/// One step of the way from coarse to fine: displacements are measured in Gaussian windows of this
/// standard deviation, that many times.
struct FieldLevel {
  double window_sigma_px = 0;  ///< 0 = one displacement for the whole frame
  int iterations = 1;
  int row_step = 1;  ///< 1, 2, 4 or 8: every so many rows are looked at; wide windows need no more
};

struct FieldOptions {
  std::vector<FieldLevel> levels = {{0, 2, 4}, {30, 1, 2}, {14, 2, 1}};
  /// Prior of the correction at each level: its standard deviation. Where the measurement is less
  /// certain than this, the displacement stays near that of the coarser level.
  double prior_px = 0.7;
  PatchSearchOptions search;
  double noise = 0;  ///< standard deviation of a sample of the frames, light
};

/// Which of the levels an estimate goes through.
enum class LevelsUsed {
  all,
  finest,  ///< for a start that is an earlier estimate already
};

struct FieldEstimate {
  ShiftField field;
  double gain = 1;  ///< factor from the frame's brightness to the reference's
};

/// Measures shift fields against one reference: weighted least squares on the image gradients in
/// overlapping windows (Lucas & Kanade 1981, Proc. 7th IJCAI, 674), coarse to fine, with the mean
/// of each window subtracted, and a Gaussian prior for each displacement. The expected error of a
/// window's shift is the Cramer-Rao bound sigma^2 (sum g g^T)^-1 (Robinson & Milanfar 2004, IEEE
/// Trans. Image Processing 13, 1185), so windows without structure keep the displacement of the
/// coarser ones.
class FieldEstimator {
 public:
  /// @param reference linear light. @param valid 1 where the reference holds data, 0 elsewhere;
  /// of the same size.
  FieldEstimator(PlaneView reference, PlaneView valid, FieldOptions options);

  /// Memory for one thread.
  struct Workspace {
    std::vector<float> x, y, sampled, valid, sums, scratch;
    std::vector<float> grids[5];
    PatchSearch::Workspace search;
  };

  /// @param start where to begin: whole shift from tracking, local zero, or an earlier estimate.
  /// Safe to call in parallel with distinct workspaces.
  [[nodiscard]] FieldEstimate estimate(const PaddedFrame& frame, FieldEstimate start,
                                       LevelsUsed levels, Workspace& workspace) const;

 private:
  /// Window sums that depend on the reference alone.
  struct Level {
    FieldLevel level;
    std::vector<NodeWindow> window;  ///< none for the whole frame
    std::vector<float> n, x, y, xx, xy, yy;
  };

  void add_level(const FieldLevel& level);
  void collect(const PaddedFrame& frame, const ShiftField& field, int row_step, double& gain,
               Workspace& work) const;
  void solve_whole(const Level& level, ShiftField& field, Workspace& work) const;
  void solve_windows(const Level& level, ShiftField& field, Workspace& work) const;

  Plane reference_, valid_, gradient_x_, gradient_y_;
  FieldOptions options_;
  ShiftField shape_;
  std::vector<Level> levels_;
  std::optional<PatchSearch> search_;
};

}  // namespace lull::align
