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
  double radius_px = 0;   ///< equatorial
  double weight = 0;      ///< of all, 0 to 1
  double turned_deg = 0;  ///< eastward, to the moment
};

/// What `lull derotate` made and found.
struct DerotateOutcome {
  DerotateRequest request;
  sky::Body body = sky::Body::jupiter;
  Utc moment;
  double central_meridian_deg = 0;
  double darkening = 0;  ///< Minnaert's k
  std::vector<DerotatedStack> stacks{};
  std::optional<double> resolution{};  ///< cycles/px; none: the halves share nothing
  std::vector<std::string> written{};
};

/// Brings stacks of a turning globe to one moment.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] DerotateOutcome run_derotate(const DerotateRequest& request,
                                           const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const DerotateOutcome& outcome);

}  // namespace lull::run
