#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "health/health.h"
#include "survey/survey.h"

namespace lull::run {

/// "12 black, 3 damaged": how many frames cannot be used, by reason; empty if all can.
[[nodiscard]] std::string left_out(const survey::Survey& survey);

/// @throws NothingUsable when fewer than `needed` frames can be used for `purpose` ("a stack").
void require_usable(const survey::Survey& survey, const std::string& capture, std::int64_t needed,
                    const std::string& purpose);

/// A warning where the frames move less than any object seen through air; else empty.
/// @param samples  calibrated: the lack of a flat or dark does not explain it.
[[nodiscard]] std::string still_object_warning(const survey::Survey& survey,
                                               health::Samples samples);

/// A warning where kept frames reach full scale on more than a hundredth of the picture; else
/// empty.
[[nodiscard]] std::string saturation_warning(const survey::Survey& survey,
                                             const std::vector<FrameIndex>& kept);

/// Of a field that turns by more than registration can follow; empty if none does.
[[nodiscard]] std::string field_turn_warning(const survey::Survey& survey);

}  // namespace lull::run
