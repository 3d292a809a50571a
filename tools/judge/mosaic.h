#pragma once

#include <vector>

#include "files/picture.h"
#include "judge/mosaic_pose.h"
#include "judge/mosaic_seams.h"
#include "judge/mosaic_truth.h"
#include "judge/patch_shifts.h"

namespace lull::judge {

/// One square of 512 px of the scene.
struct MosaicTile {
  Place corner;
  double lit = 0;            ///< share of it that was judged
  double psnr_db = 0;        ///< against the brightest light of the scene
  double light_percent = 0;  ///< its light over that of the truth, less 100
  double shift_px = 0;       ///< rms of what its detail is displaced by
};

struct MosaicVerdict {
  Pose pose;
  double covered = 0;  ///< share of what the panels show of the scene
  int patches = 0;     ///< whose displacement was found
  int not_found = 0;   ///< patches whose detail the mosaic does not show
  double distortion_rms_px = 0;
  Distortion3000 distortion_3000;
  double gain = 1;  ///< scene ~ gain mosaic + offset
  double offset = 0;
  double psnr_db = 0;  ///< of what is lit, local displacements removed
  Steps borders;
  Steps beside;  ///< the same measure where no border is: what it finds without a seam
  Steps anywhere;
  std::vector<MosaicTile> tiles;
};

/// Finds the mosaic in the scene, upright or upside down; measures local displacements; removes
/// them; and compares the light with one gain and one offset for all. Displacements, gain, offset
/// and steps are measured against the scene through the mosaic's own blur (through_blur_of()),
/// which would be taken for them where light falls steeply; the PSNR against the scene as it is.
/// Pixels that are 0 in a square of 9 px are taken as not covered. A colour picture is judged by
/// the mean of its channels.
/// @throws InputError when the mosaic does not show the scene.
[[nodiscard]] MosaicVerdict judge_mosaic(const files::Picture& mosaic, const MosaicTruth& truth);

}  // namespace lull::judge
