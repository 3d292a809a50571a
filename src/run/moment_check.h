#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/utc.h"
#include "sky/body.h"
#include "sky/observer.h"

namespace lull::run {

/// Where pictures were taken, as far as it is known.
struct TakenAt {
  std::optional<sky::Site> site{};
  std::string zone{};  ///< its local time; empty: not known
};

/// The moment of a picture, with its name for messages.
struct NamedMoment {
  std::string name;
  Utc moment;
};

/// Whether moments can be UTC, or are those of a clock that shows local time: a planet below the
/// horizon of the site, a moment that is yet to come.
/// @param now  by the clock of this machine.
/// @return notes. @throws InputError: the planet was not up; with the zone, whether it is if the
/// moment is meant in local time.
[[nodiscard]] std::vector<std::string> check_moments(const std::vector<NamedMoment>& moments,
                                                     sky::Body body, const TakenAt& place, Utc now);

/// Of the machine's clock.
[[nodiscard]] Utc time_now();

}  // namespace lull::run
