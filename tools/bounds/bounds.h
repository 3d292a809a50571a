#pragma once

#include <string>
#include <vector>

#include "capture/frame_store.h"
#include "core/plane.h"
#include "core/progress.h"
#include "lab/truth_file.h"

namespace lull::bounds {

/// A picture that a result can be placed against.
struct Bound {
  std::string name;  ///< mean, best frame, shift and add, oracle
  double share = 1;  ///< of the frames, by true Strehl ratio
  Plane picture;
};

/// Pictures made with what only the truth knows, in one pass over the capture: the mean of all
/// frames as they are, the sharpest frame, sums of the sharpest frames by their true shift, and
/// (oracle) by their true shift field as well. Frames with a fault are left out.
/// @param frames,fields  of the truth, as many as the capture has or more.
/// @throws InputError when the truth is of another size; NothingUsable when no frame is without
/// fault.
[[nodiscard]] std::vector<Bound> make_bounds(capture::FrameStore& store,
                                             const std::vector<lab::FrameTruth>& frames,
                                             const std::vector<lab::NodeField>& fields,
                                             const Progress& progress);

}  // namespace lull::bounds
