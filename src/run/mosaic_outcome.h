#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "files/picture.h"
#include "mosaic/holes.h"
#include "mosaic/layout.h"
#include "mosaic/moved_light.h"
#include "run/control.h"
#include "run/mosaic_limb.h"
#include "run/mosaic_request.h"
#include "spectrum/frc.h"

namespace lull::run {

/// What `lull mosaic` made and found.
// NOLINTNEXTLINE(bugprone-exception-escape): a null JSON value is made without an exception
struct MosaicOutcome {
  MosaicRequest request;
  mosaic::Layout layout;
  mosaic::MovedLight moved;
  /// Of all panels of the layout: the finest period on which its own half stacks agree, px of the
  /// mosaic.
  std::vector<std::optional<double>> resolution_px;
  std::vector<int> numbers;           ///< of all panels of the layout, as they were given, from 1
  std::vector<mosaic::Hole> holes;    ///< the largest first
  std::optional<JoinedLimb> limb;     ///< where it was laid onto a circle
  double covered = 0;                 ///< share of the rectangle that panels show
  spectrum::FrcCurve frc;             ///< of the half stacks; empty for pictures
  nlohmann::json figures;             ///< as the recipe has them
  std::vector<std::string> left_out;  ///< panels, each with the reason
  std::vector<std::string> notes;
  std::vector<std::string> written;  ///< names of all results
  std::size_t channels = 1;
  files::Clipped clipped;    ///< what the 16-bit encoding had to limit
  std::string viewing_hint;  ///< how the picture will look; empty = as it should
  std::string caution;       ///< for the Sun; empty = none is due
};

/// Joins overlapping panels and writes the picture, the joined linear stack and the recipe.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted.
[[nodiscard]] MosaicOutcome run_mosaic(const MosaicRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const MosaicOutcome& outcome);

/// A request to repeat an earlier run; the output is open.
/// @throws InputError for a recipe that cannot be read.
[[nodiscard]] MosaicRequest mosaic_request_of_recipe(const std::string& path);

}  // namespace lull::run
