#pragma once

#include <optional>

#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

/// Whether the angle of a globe in a picture is known.
enum class Angles { known, unknown };

/// Centre and equatorial radius from the area that is brighter than two fifths
/// of the brightest thousandth. None where that is under 10 px of radius or
/// most of the picture. With rings, whose outline is the brightest: those with which a globe and
/// three rings, each as bright as suits best, are nearest to the picture.
/// @param place  with its angle. Where that is not known rings tell it, but for half a turn.
[[nodiscard]] std::optional<GlobePlace> rough_place(PlaneView picture, const GlobeShape& shape,
                                                    const GlobePlace& place, Angles angles);

}  // namespace lull::globe
