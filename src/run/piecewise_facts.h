#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "run/globe_sight.h"

namespace lull::run {

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

[[nodiscard]] nlohmann::json to_json(const PiecewiseFacts& facts);

}  // namespace lull::run
