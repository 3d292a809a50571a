#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "files/picture_file.h"
#include "health/health.h"
#include "run/air.h"
#include "run/capture_share.h"
#include "run/control.h"
#include "run/exposure_times.h"
#include "run/finish_picture.h"
#include "run/piecewise_stack.h"
#include "run/stack_request.h"
#include "stack/stacker.h"

namespace lull::run {

/// What `lull stack` made and found.
struct StackOutcome {
  StackRequest request;
  capture::CaptureInfo info;
  health::Health health;
  survey::Orientation orientation;  ///< of the frames as recorded; turned back since
  stack::StackResult result;
  Finished picture;                  ///< the result
  bool finished = false;             ///< picture is more than the linear stack
  nlohmann::json figures;            ///< as the recipe has them
  std::vector<CaptureShare> shares;  ///< what each of several captures gave
  std::optional<Air> air;
  std::optional<ExposureTimes> times;
  std::optional<PiecewiseFacts> derotated;  ///< where pieces were brought to one moment
  std::string caution;                      ///< for the Sun; empty = none is due
  std::vector<std::string> notes;
  std::vector<std::string> written;  ///< names of all results
  files::Clipped clipped;            ///< what the 16-bit encoding had to limit
  std::string viewing_hint;          ///< how the picture will look; empty = as it should

  /// The linear stack: 1 or 3 channels. Valid as long as the outcome.
  [[nodiscard]] files::PictureView linear() const;

  /// The optics as if the picture, which may be enlarged, had been recorded.
  [[nodiscard]] std::optional<health::Optics> optics_of_picture() const;
};

/// The main job: ranks, registers, stacks and finishes a capture, and writes the picture, the
/// linear stack, the recipe and the page.
/// @throws UsageError, InputError, NothingUsable, OutputError, Interrupted. No result is written
/// then, and earlier results stay.
[[nodiscard]] StackOutcome run_stack(const StackRequest& request, const RunControl& control);

[[nodiscard]] nlohmann::json to_json(const StackOutcome& outcome);

/// A request to repeat an earlier run; the output is open.
/// @throws InputError for a recipe that cannot be read.
[[nodiscard]] StackRequest stack_request_of_recipe(const std::string& path);

}  // namespace lull::run
