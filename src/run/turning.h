#pragma once

#include <optional>

#include "core/utc.h"
#include "run/option.h"

namespace lull::run {

/// Whether east and west are exchanged in the pictures.
enum class Mirrored { no, yes };

/// How a globe lies in the pictures, and the moment to which it is turned.
struct Turning {
  std::optional<double> north_deg{};  ///< from the top of the picture to north, clockwise
  Mirrored mirrored = Mirrored::no;
  std::optional<Utc> moment{};  ///< none: the middle, weighted by quality
};

/// --north, --mirrored, --to. @param needs  options without which these have no meaning.
[[nodiscard]] OptionTable<Turning> turning_options(const std::vector<std::string>& needs);

/// @throws UsageError where north is missing.
void require_north(const Turning& turning);

}  // namespace lull::run
