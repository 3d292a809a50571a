#pragma once

#include <vector>

#include "globe/globe_map.h"

namespace lull::globe {

/// Factors on the brightness of pictures with which they agree where two of them show the same
/// places: least squares over the logarithms of the median ratios, each counting as the area that
/// is shared. What pictures differ in but do not share, as the sides of Mars do, is left alone.
/// @param pictures  their first plane is compared.
/// @return of each picture, the gain that it has included. Among pictures that hang together the
/// mean logarithm stays; one that shares no place with others keeps its gain.
[[nodiscard]] std::vector<double> matched_gains(const std::vector<MapPicture>& pictures,
                                                sky::Body body, double darkening);

}  // namespace lull::globe
