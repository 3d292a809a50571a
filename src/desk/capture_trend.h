#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>

#include "desk/catalogue.h"
#include "desk/surveys.h"
#include "profile/profile.h"
#include "sky/body.h"

namespace lull::desk {

/// What the name of a capture says that it shows; none where it says nothing that can be planned.
[[nodiscard]] std::optional<sky::Body> body_named(const capture::FoundCapture& found);

/// How high the body stood in the middle of the capture, without refraction. None where the name
/// says no body, the file no moment, or the profile no site.
[[nodiscard]] std::optional<double> altitude_deg(const ListedCapture& capture,
                                                 const profile::Profile& profile);

/// What changes over a night, one number each, null where it is not known: see desk-api.md.
/// @param figures  of the recipe of its newest stack; an object, empty where there is none.
[[nodiscard]] nlohmann::json trend_json(const ListedCapture& capture, const SurveyOfCapture& survey,
                                        const profile::Profile& profile,
                                        const nlohmann::json& figures);

}  // namespace lull::desk
