#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "files/picture_file.h"
#include "merge/join.h"
#include "run/control.h"
#include "run/finish_picture.h"
#include "run/merge_request.h"
#include "spectrum/frc.h"

namespace lull::run {

/// What `lull merge` made and found.
// NOLINTNEXTLINE(bugprone-exception-escape): a null JSON value is made without an exception
struct MergeOutcome {
  MergeRequest request;
  Size size;
  Finished picture;                ///< the result
  std::vector<files::Card> cards;  ///< of the joined linear stack
  std::vector<merge::Part> parts;  ///< red, green, blue, luminance
  spectrum::FrcCurve frc;          ///< of the joined half stacks
  nlohmann::json figures;          ///< as the recipe has them
  std::string caution;             ///< for the Sun; empty = none is due
  std::vector<std::string> notes;
  std::vector<std::string> written;  ///< names of all results
  files::Clipped clipped;            ///< what the 16-bit encoding had to limit
  std::string viewing_hint;          ///< how the picture will look; empty = as it should
};

/// Joins stacks of several filters and writes the picture, the joined linear stack, the recipe and
/// the page.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] MergeOutcome run_merge(const MergeRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const MergeOutcome& outcome);

/// A request to repeat an earlier run; the output is open.
/// @throws InputError for a recipe that cannot be read.
[[nodiscard]] MergeRequest merge_request_of_recipe(const std::string& path);

/// "red", "green", "blue", "luminance".
[[nodiscard]] const char* part_name(std::size_t part);

}  // namespace lull::run
