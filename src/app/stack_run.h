#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/air.h"
#include "app/commands.h"
#include "app/times.h"
#include "files/picture.h"
#include "health/health.h"
#include "stack/stacker.h"

namespace lull::app {

/// What a finished run knows.
struct StackRun {
  const StackCommandOptions& options;
  nlohmann::json choices;   ///< every option that decides the result, by its name in recipes
  nlohmann::json defaults;  ///< the same of a run without options
  const capture::CaptureInfo& info;
  const health::Health& health;
  const stack::StackResult& result;
  nlohmann::json figures;  ///< as the recipe has them
  std::optional<Air> air;
  std::optional<ExposureTimes> times;
  files::PictureView linear;
  files::PictureView picture;        ///< the result
  bool finished = false;             ///< picture is more than the linear stack
  bool linear_light = true;          ///< of picture
  std::vector<std::string> written;  ///< names of all results
};

}  // namespace lull::app
