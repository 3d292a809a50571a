#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "files/picture_file.h"
#include "run/control.h"
#include "run/finish_request.h"

namespace lull::run {

/// What `lull finish` made and found.
// NOLINTNEXTLINE(bugprone-exception-escape): a null JSON value is made without an exception
struct FinishOutcome {
  FinishRequest request;
  Size size;
  std::size_t channels = 0;
  bool has_halves = false;  ///< noise known from the half stacks of the stack
  nlohmann::json figures;   ///< as the recipe has them
  std::vector<std::string> warnings;
  std::vector<std::string> notes;
  std::vector<std::string> written;  ///< names of all results
  files::Clipped clipped;            ///< what the 16-bit encoding had to limit
  std::string viewing_hint;          ///< how the picture will look; empty = as it should
};

/// Finishes a stack, or any linear picture, and writes the picture and its recipe.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] FinishOutcome run_finish(const FinishRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const FinishOutcome& outcome);

/// A request to finish as an earlier `stack` or `finish` did; the picture and the output are open.
/// @throws InputError for a recipe that cannot be read.
[[nodiscard]] FinishRequest finish_request_of_recipe(const std::string& path);

}  // namespace lull::run
