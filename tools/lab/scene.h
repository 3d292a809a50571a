#pragma once

#include <vector>

#include "core/plane.h"
#include "lab/canvas.h"
#include "lab/cover.h"
#include "lab/parameters.h"

namespace lull::lab {

/// The light of a scene on its canvas before any optics: one plane for each channel, 1 in the
/// brightest place or less, 0 on the sky.
/// @throws InputError when a picture or a map cannot be read; UsageError for a panel of a mosaic.
[[nodiscard]] std::vector<Plane> make_scene(const Parameters& parameters, const Canvas& canvas);

/// A planet as it stands at a date, `since_s` later than SceneParameters::utc.
[[nodiscard]] std::vector<Plane> planet(const Parameters& parameters, const CoverMap& cover,
                                        const Canvas& canvas, double since_s);

/// The second body alone, in the centre of the frame, in the units of make_scene().
[[nodiscard]] Plane second_body(const SecondBody& body, const Canvas& canvas);

/// One plane of cratered ground under a low Sun. @param px  canvas size.
[[nodiscard]] Plane cratered_ground(const SceneParameters& scene, const Canvas& canvas,
                                    std::uint64_t seed);

/// Solar disc with limb darkening, granulation and spots.
[[nodiscard]] Plane solar_disc(const SceneParameters& scene, const Canvas& canvas,
                               std::uint64_t seed);

/// Globe under a map or an invented cover, with limb darkening, phase and rings.
[[nodiscard]] std::vector<Plane> globe(const Parameters& parameters, const Canvas& canvas);

}  // namespace lull::lab
