#pragma once

#include <optional>
#include <string>

#include "globe/globe_map.h"
#include "run/option.h"
#include "sky/rotation_elements.h"

namespace lull::run {

/// The map that is asked for.
struct MapChoice {
  std::string file;  ///< .fits or .tif; empty: none
  globe::MapProjection projection = globe::MapProjection::cylindrical;
  std::optional<double> pixels_per_degree{};  ///< none: as in the middle of the largest disc
  sky::LongitudeSystem system = sky::LongitudeSystem::three;
};

/// --map, --projection, --map-scale, --system.
[[nodiscard]] OptionTable<MapChoice> map_options();

/// @throws UsageError: a name of another format; a system that the body has not.
void check_map(const MapChoice& choice);
void check_map(const MapChoice& choice, sky::Body body);

}  // namespace lull::run
