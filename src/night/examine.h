#pragma once

#include <string>
#include <vector>

#include "core/progress.h"
#include "night/plan.h"
#include "profile/profile.h"

namespace lull::night {

/// What the folders of a night hold.
struct Examined {
  std::vector<Facts> captures;
  std::vector<Facts> calibration;  ///< of the folders that the profile names
  std::vector<LeftOut> left_out;   ///< duplicates, and folders that cannot be read
};

/// Looks through the folders, and opens every capture for its header and, where nothing says what
/// it shows, for some of its frames. Several at once.
/// @param results  below `folder` or elsewhere; is passed over.
/// @throws InputError: the folder itself cannot be read; Interrupted.
[[nodiscard]] Examined examine(const std::string& folder, const std::string& results,
                               const profile::Profile& profile, const Progress& progress);

/// Whether frames show no light: even, and dark. Measured over squares of 16 px.
[[nodiscard]] bool shows_no_light(const std::string& path);

}  // namespace lull::night
