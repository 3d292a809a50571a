#pragma once

#include <array>
#include <vector>

#include "align/field_estimator.h"
#include "stack/frame_batch.h"

namespace lull::stack {

/// What frames are registered against: a stack of the best ones.
struct Reference {
  Plane picture;
  Plane valid;                  ///< 1 where it holds data, 0 elsewhere
  KnownFields fields;           ///< of its frames, by position
  KnownWeights weights;         ///< of its frames
  align::FieldOptions options;  ///< by which frames are registered against it
  double patch_px = 0;          ///< side of the patches that move on their own

  [[nodiscard]] OutlierBounds bounds() const { return {picture.view(), valid.view()}; }
};

/// Stacks the best frames by the shifts of tracking, then by fields measured against that stack,
/// twice. In the end the mean field of frames from the whole capture is made zero, so that the
/// reference keeps no frame's distortion.
/// @param patch_px  side of the patches that move on their own; 0: chosen by the finest detail
///        that the halves of the first of these stacks share. Where that is coarse, by the pixels
///        or by noise, small patches follow noise more than motion (bench/DECISIONS.md).
[[nodiscard]] Reference build_reference(FrameBatch& batch, const Candidates& candidates, Size size,
                                        double patch_px, const Progress& progress);

/// Frames of the reference with the fields and weights that they have in it, repaired.
[[nodiscard]] WeightedFrames recall(LoadedFrames&& frames, const Reference& reference,
                                    const OutlierBounds& bounds);

/// Registers the colours of the reference's frames, stacked by the known fields.
/// @return offsets of the detail of red, green and blue from that of the luminance, px.
[[nodiscard]] std::array<Displacement, 3> measure_dispersion(const Reference& reference,
                                                             FrameBatch& batch,
                                                             const Candidates& candidates,
                                                             const capture::CaptureInfo& info,
                                                             const Progress& progress);

}  // namespace lull::stack
