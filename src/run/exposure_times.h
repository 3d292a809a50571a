#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "files/metadata.h"
#include "survey/survey.h"

namespace lull::run {

/// When the frames of a stack were exposed.
struct ExposureTimes {
  Utc begin;                ///< the first kept frame, or the capture
  std::optional<Utc> mean;  ///< of the kept frames; nothing where frames have no times
  std::optional<Utc> end;   ///< the last kept frame; likewise
  std::string source;       ///< where they come from
};

/// None where the capture does not state when it was recorded.
[[nodiscard]] std::optional<ExposureTimes> exposure_times(const capture::CaptureInfo& info,
                                                          const survey::Survey& survey,
                                                          const std::vector<FrameIndex>& kept);

/// DATE-OBS, DATE-AVG and DATE-END in UTC (FITS Standard 4.0, sections 4.4.2 and 9.5).
[[nodiscard]] std::vector<files::Card> time_cards(const ExposureTimes& times);

/// The same for the recipe and --json, ISO 8601 with a Z.
[[nodiscard]] nlohmann::json to_json(const ExposureTimes& times);

/// The moment of a frame, ISO 8601 with a Z; empty if it is not known.
[[nodiscard]] std::string utc_text(const capture::CaptureInfo& info,
                                   const quality::FrameRecord& record);

}  // namespace lull::run
