#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "run/control.h"
#include "run/derotate_request.h"
#include "sky/body.h"

namespace lull::run {

/// What was measured of one stack.
struct DerotatedStack {
  std::string path;
  Utc moment;
  double x_px = 0;
  double y_px = 0;
  double radius_px = 0;       ///< equatorial
  double weight = 0;          ///< of all, 0 to 1
  double turned_deg = 0;      ///< eastward, to the moment
  bool turned_about = false;  ///< it lies by 180 degrees off the earliest stack
};

/// The map that was made.
struct DerotatedMap {
  int width_px = 0;
  int height_px = 0;
  double pixels_per_degree = 0;
  double seen_share = 0;  ///< of the surface that the map can show, by area
};

/// What `lull derotate` made and found.
struct DerotateOutcome {
  DerotateRequest request;
  sky::Body body = sky::Body::jupiter;
  Utc moment;
  double central_meridian_deg = 0;
  double turn_deg_per_hour = 0;  ///< what an hour of local time for UTC costs
  double darkening = 0;          ///< Minnaert's k
  double north_deg = 0;          ///< of the earliest stack: clockwise from the top
  bool north_found = false;      ///< by how detail moves
  bool mirrored = false;
  std::vector<std::string> notes{};
  std::vector<DerotatedStack> stacks{};
  std::optional<double> resolution{};  ///< cycles/px; none: the halves share nothing, or no stack
                                       ///< was asked for
  std::optional<DerotatedMap> map{};
  std::vector<std::string> written{};
};

/// Brings stacks of a turning globe to one moment.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] DerotateOutcome run_derotate(const DerotateRequest& request,
                                           const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const DerotateOutcome& outcome);

}  // namespace lull::run
