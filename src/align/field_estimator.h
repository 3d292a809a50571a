#pragma once

#include <optional>
#include <vector>

#include "align/field_level.h"
#include "align/node_grid.h"
#include "align/padded_frame.h"
#include "align/patch_search.h"
#include "align/shift_field.h"
#include "align/shift_prior.h"
#include "core/plane.h"

namespace lull::align {

struct FieldOptions {
  std::vector<FieldLevel> levels = {{3, 2, 4, 4, 2}, {2, 1, 4, 4, 2}, {1, 1, 2, 2, 1}};
  ShiftPriorOptions prior;
  PatchSearchOptions search;
  double noise = 0;  ///< standard deviation of a sample of the frames, light
};

/// Which of the levels an estimate goes through.
enum class LevelsUsed {
  all,
  finer,  ///< without the first: for a start that is an earlier estimate already
};

struct FieldEstimate {
  ShiftField field;
  double gain = 1;  ///< factor from the frame's brightness to the reference's
};

/// Measures shift fields against one reference: least squares on the image gradients (Lucas &
/// Kanade 1981, Proc. 7th IJCAI, 674) of all places at once, with a random field as the prior (see
/// ShiftPrior). A place is as certain as its Cramer-Rao bound sigma^2 (sum g g^T)^-1 says (Robinson
/// & Milanfar 2004, IEEE Trans. Image Processing 13, 1185), sigma^2 being what is left around it,
/// so places without structure follow the others. What a difference in blur leaves looks like a
/// shift where the scene curves: a multiple of the reference's curvature is subtracted first.
class FieldEstimator {
 public:
  /// @param reference linear light. @param valid 1 where the reference holds data, 0 elsewhere;
  /// of the same size.
  FieldEstimator(PlaneView reference, PlaneView valid, FieldOptions options);

  /// Memory for one thread.
  struct Workspace {
    std::vector<float> x, y, sampled, valid, sums, scratch;
    std::vector<float> grids[6];
    std::vector<float> coarse_x, coarse_y;
    LevelBlurs::Workspace blurs;
    ShiftPrior::Observations seen;
    ShiftPrior::Workspace prior;
    PatchSearch::Workspace search;
  };

  /// @param start where to begin: whole shift from tracking, local zero, or an earlier estimate.
  /// Safe to call in parallel with distinct workspaces.
  [[nodiscard]] FieldEstimate estimate(const PaddedFrame& frame, FieldEstimate start,
                                       LevelsUsed levels, Workspace& workspace) const;

 private:
  void collect(const ReferenceLevel& level, const PaddedFrame& frame, const ShiftField& field,
               double& gain, Workspace& work) const;
  void solve_whole(const ReferenceLevel& level, ShiftField& field, Workspace& work) const;
  void take_off_blur(const ReferenceLevel& level, Workspace& work) const;
  void observe(const ReferenceLevel& level, const ShiftField& field, Workspace& work) const;
  void predict(const FieldLevel& level, ShiftPrior::Start start, ShiftField& field,
               Workspace& work) const;

  FieldOptions options_;
  ShiftField shape_;
  NodeWindow wide_;  ///< for the level of the light
  NodeWindow near_;  ///< for what is left
  ShiftPrior prior_;
  LevelBlurs blurs_;
  std::vector<ReferenceLevel> levels_;
  std::optional<PatchSearch> search_;
};

}  // namespace lull::align
