#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "run/control.h"
#include "run/rank_request.h"
#include "survey/survey.h"

namespace lull::run {

/// What `lull rank` found.
struct RankOutcome {
  capture::CaptureInfo info;
  survey::Survey survey;
  std::vector<std::size_t> order;  ///< positions in the survey's records, sharpest first
  std::vector<std::string> notes;
  std::vector<std::string> written;  ///< files
};

/// Reads the capture once, and writes the table and the video where they are asked for. With
/// no usable frame nothing is written: see require_ranked().
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] RankOutcome run_rank(const RankRequest& request, const RunControl& control);

/// @throws NothingUsable when no frame could be ranked.
void require_ranked(const RankOutcome& outcome);

[[nodiscard]] nlohmann::json to_json(const RankOutcome& outcome);

/// The table of frames, RFC 4180.
[[nodiscard]] std::string rank_table(const RankOutcome& outcome);

}  // namespace lull::run
