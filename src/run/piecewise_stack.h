#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "capture/frame_store.h"
#include "run/globe_sight.h"
#include "stack/stacker.h"

namespace lull::run {

/// How a globe is stacked piece by piece.
struct PiecewisePlan {
  sky::Body body = sky::Body::jupiter;
  Turning turning{};
  std::optional<double> arcsec_per_px{};  ///< where it is known
};

/// A piece of a capture that was brought to the moment.
struct StackedPiece {
  Utc moment;  ///< mean of its kept frames
  std::int64_t frames = 0;
  double x_px = 0;  ///< of the globe's centre, in the picture of the piece
  double y_px = 0;
  double turned_deg = 0;  ///< eastward, to the moment
};

/// What was found on the way.
struct PiecewiseFacts {
  sky::Body body = sky::Body::jupiter;
  Utc moment;
  double central_meridian_deg = 0;
  globe::LimbFit limb{};     ///< in the picture
  double darkening = 0;      ///< Minnaert's k
  double north_deg = 0;      ///< from the top, clockwise
  bool north_found = false;  ///< by how detail moves
  bool mirrored = false;
  std::string note{};         ///< what could not be told of north; empty: nothing
  double piece_s = 0;         ///< length of a piece
  double smear_px = 0;        ///< at the disc's middle, within a piece
  double whole_smear_px = 0;  ///< over the whole capture
  std::vector<StackedPiece> pieces{};
  std::vector<std::string> left_out{};  ///< reasons, one for each piece that is not used

  /// One sentence.
  [[nodiscard]] std::string text() const;
};

struct PiecewiseStack {
  stack::StackResult result;
  PiecewiseFacts facts;
};

/// Cuts a capture into pieces in time in which the globe turns by less than 0.3 px, stacks each of
/// them from the frames that are best in the whole capture, brings the pieces to one moment and
/// averages them, each counting as its number of frames. Everything that is measured of a stack is
/// measured of the average. Where `options.keep` is automatic the piece with the most good frames
/// chooses, for the noise of the average, and the others take the frames that are as good.
/// North is looked for where the plan does not state it.
/// @throws InputError: no time stamps, more than half a turn; and as globe_sight(), stack().
[[nodiscard]] PiecewiseStack stack_piecewise(capture::FrameStore& frames,
                                             const survey::Survey& survey,
                                             const stack::StackOptions& options,
                                             const PiecewisePlan& plan, const Progress& progress);

[[nodiscard]] nlohmann::json to_json(const PiecewiseFacts& facts);

}  // namespace lull::run
