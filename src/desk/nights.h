#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "capture/folder.h"
#include "desk/desk_request.h"
#include "night/night_folder.h"

namespace lull::desk {

/// The results of a night, `lull night`, that lie near the captures of a desk.
struct NearNight {
  std::string id;  ///< follows from its place
  night::NightFolder place;
};

/// Nights whose results lie in the folder of the captures, in one right below it, or where the desk
/// has its own.
[[nodiscard]] std::vector<NearNight> nights_near(const DeskRequest& request);

/// How far a night is with the captures that are listed; null where it has none of them.
[[nodiscard]] nlohmann::json night_json(const NearNight& night,
                                        const std::vector<capture::FoundCapture>& captures);

/// Where a file of a night is: its page, or what the page leads to.
/// @throws Problem 404: no such night, or it has no such file.
[[nodiscard]] std::string file_of_night(const std::vector<NearNight>& nights, const std::string& id,
                                        const std::string& name);

}  // namespace lull::desk
