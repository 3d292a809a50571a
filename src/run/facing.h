#pragma once

#include <string>
#include <vector>

#include "globe/orientation.h"
#include "run/turning.h"
#include "sky/body.h"

namespace lull::run {

/// A picture of a globe, of which only the moment is known.
struct DatedPicture {
  std::string name;  ///< for messages
  PlaneView light;
  Utc moment;
};

/// How pictures of one camera lie.
struct Facing {
  Turning turning{};                 ///< with north
  bool found = false;                ///< and not asked for
  std::vector<bool> turned_about{};  ///< of each picture: by 180 degrees against the earliest
  std::string note{};                ///< what could not be told; empty: nothing
};

/// Finds north where `turning` does not state it, and which pictures are turned by 180 degrees, as
/// after a meridian flip.
/// @throws UsageError: north cannot be found. @throws NothingUsable: no disc on a dark sky.
[[nodiscard]] Facing facing_of(const std::vector<DatedPicture>& pictures, const Turning& turning,
                               sky::Body body);

/// Of a series in which the globe turns by more than 60 degrees: the most faces, one after the
/// other, within so much of a turn. They show enough of the same side to be compared.
/// @param faces  in the order of time, at least one.
[[nodiscard]] std::vector<globe::DatedFace> of_one_side(const std::vector<globe::DatedFace>& faces,
                                                        sky::Body body, Utc first);

/// @param faces  in the order of time, their places fitted. @param motion_px  of the disc's middle.
/// @throws UsageError: what is asked for is against how detail moves.
void check_sense(const std::vector<globe::DatedFace>& faces, double motion_px, sky::Body body,
                 const Turning& turning);

}  // namespace lull::run
