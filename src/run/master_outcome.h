#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/pair_noise.h"
#include "run/control.h"
#include "run/master_file.h"
#include "run/master_request.h"

namespace lull::run {

/// What `lull master` made and found.
struct MasterOutcome {
  MasterRequest request;
  KeptMaster kept;
  double level_part = 0;      ///< median over the range from black to saturation
  double saturated_part = 0;  ///< share of the pixels that are saturated
  std::optional<calibrate::PhotonTransfer> transfer;
  std::vector<std::string> notes;
};

/// Averages the frames and writes the master.
/// @throws UsageError, InputError, OutputError, Interrupted.
[[nodiscard]] MasterOutcome run_master(const MasterRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const MasterOutcome& outcome);

}  // namespace lull::run
