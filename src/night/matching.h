#pragma once

#include <string>
#include <vector>

#include "night/plan.h"

namespace lull::night {

/// Darks or flats that fit the same captures, and what of them is combined.
struct MasterGroup {
  Master master;
  Facts facts;  ///< of its first capture
};

/// Masters of all darks and flats, each combined of those that fit the same captures.
[[nodiscard]] std::vector<MasterGroup> group_masters(const std::vector<Facts>& all);

/// A master that was chosen, and the reason; without a name none fits, and the reason says why.
struct Match {
  std::string name;
  std::string why;
};

/// The dark for a capture or a flat.
[[nodiscard]] Match dark_for(const Facts& capture, const std::vector<MasterGroup>& masters);

[[nodiscard]] Match flat_for(const Facts& capture, const std::vector<MasterGroup>& masters);

}  // namespace lull::night
