#pragma once

#include <optional>

#include "capture/frame_store.h"
#include "run/piecewise_facts.h"
#include "stack/stacker.h"

namespace lull::run {

/// How a globe is stacked piece by piece.
struct PiecewisePlan {
  sky::Body body = sky::Body::jupiter;
  Turning turning{};
  std::optional<double> arcsec_per_px{};  ///< where it is known
};

struct PiecewiseStack {
  stack::StackResult result;
  PiecewiseFacts facts;
};

/// Cuts a capture into pieces in time (PieceBounds), stacks each of them from the frames that are
/// best in the whole capture, brings the pieces to one moment and averages them, each counting as
/// its number of frames. Everything that is measured of a stack is measured of the average. Where
/// `options.keep` is automatic the three pieces with the most good frames choose, for the noise of
/// the average; the capture then keeps their share of it.
/// North is looked for where the plan does not state it.
/// @throws InputError: no time stamps, more than half a turn; and as globe_sight(), stack().
[[nodiscard]] PiecewiseStack stack_piecewise(capture::FrameStore& frames,
                                             const survey::Survey& survey,
                                             const stack::StackOptions& options,
                                             const PiecewisePlan& plan, const Progress& progress);

}  // namespace lull::run
