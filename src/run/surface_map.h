#pragma once

#include <optional>
#include <string>
#include <vector>

#include "files/results.h"
#include "globe/globe_map.h"
#include "run/globe_stack.h"
#include "run/map_choice.h"

namespace lull::run {

/// A map of a planet's surface, joined from stacks.
struct SurfaceMap {
  globe::MapGrid grid;
  sky::Body body;
  sky::LongitudeSystem system;
  Utc moment;                     ///< at which its places are where it shows them
  Utc from;                       ///< of the earliest stack
  Utc to;                         ///< of the latest
  double darkening = 1;           ///< Minnaert's k, divided out
  std::vector<Plane> channels{};  ///< where nothing was seen: 0
  std::vector<Plane> noise{};     ///< of the channels: half the difference of the half stacks
  Plane weight{};                 ///< stacks that count at each place; 0: it was not seen
  std::size_t stacks = 0;

  /// Part of the surface that was seen, each place counting as its area.
  [[nodiscard]] double seen_share() const;
};

/// @param brightness  of the globe to which all stacks are brought.
[[nodiscard]] SurfaceMap surface_map(const std::vector<GlobeStack>& stacks, const MapChoice& choice,
                                     sky::Body body, Utc moment, double darkening,
                                     double brightness);

/// FITS: the map, NaN where nothing was seen, and extensions NOISE and WEIGHT, each with its world
/// coordinates. TIFF: 16 bit, 0 to the brightest, with an alpha channel that is 0 where nothing was
/// seen. Sources: Greisen & Calabretta 2002, A&A 395, 1061; Calabretta & Greisen 2002, A&A 395,
/// 1077 (CAR, ARC). The papers themselves were not at hand: wcslib 7.12, which implements them,
/// takes the axes as a planet's longitude and latitude, and its places are tested. Radii and the
/// first letters of CTYPE: Marmo et al. 2018, Earth and Space Science 5, 640 (from memory); GDAL
/// 3.6 reads the planet, its radii and the axes from them. DATE-BEG, DATE-AVG, DATE-END: FITS
/// Standard 4.0, section 9.5 (from memory). LONSENSE, LONSYS, MINNAERT and NSTACKS are Lull's own.
/// @throws OutputError.
void write_surface_map(const std::filesystem::path& path, const SurfaceMap& map);

}  // namespace lull::run
