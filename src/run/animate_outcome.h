#pragma once

#include <nlohmann/json.hpp>
#include <vector>

#include "merge/similarity.h"
#include "run/animate_request.h"
#include "run/control.h"

namespace lull::run {

/// What `lull animate` made and found.
struct AnimateOutcome {
  AnimateRequest request;
  Size size;                            ///< of the film
  std::int64_t shown = 0;               ///< pictures, with those of the way back and of repeats
  std::vector<merge::Similarity> maps;  ///< of each picture against the middle one
  std::vector<double> gains;            ///< by which each was brightened
};

/// Writes a series of pictures as a film.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] AnimateOutcome run_animate(const AnimateRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const AnimateOutcome& outcome);

}  // namespace lull::run
