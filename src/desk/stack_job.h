#pragma once

#include <nlohmann/json_fwd.hpp>

#include "desk/parts.h"

namespace lull::desk {

/// Creates a job from the body of a request: `lull stack` of these captures with these options, its
/// results in the folder for them.
/// @throws Problem, UsageError: nothing was created.
Job create_stack_job(Parts& parts, const nlohmann::json& body);

/// What that job will take: {"time_s", "results_bytes", "memory_bytes"}; no time where a capture
/// was not surveyed. @throws Problem, UsageError as the job would be refused.
[[nodiscard]] nlohmann::json estimate_stack_job(Parts& parts, const nlohmann::json& body);

/// The result that a name asks for: within the folder for results, which is made. No file of its
/// result is there yet, and no job makes one.
/// @param name  empty: one that is free, after `input` and `ending`.
/// @throws Problem 400, 409; 507 where the folder cannot be made.
[[nodiscard]] std::string new_result(Parts& parts, const std::string& name,
                                     const std::string& input, const std::string& ending);

/// Names of files in options as paths: an id of a capture, or a name below the folder of captures,
/// for what is read; a name in that of results for what is written.
/// @throws Problem 400: it leads elsewhere, or is not there.
[[nodiscard]] nlohmann::json with_paths(Parts& parts, nlohmann::json options);

}  // namespace lull::desk
