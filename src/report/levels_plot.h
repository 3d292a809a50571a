#pragma once

#include <optional>

#include "draw/plot.h"
#include "files/picture.h"

namespace lull::report {

/// Levels that are shown as black and as white.
struct LevelMarks {
  double black = 0;
  double white = 1;
};

/// How many pixels of the picture have which level, one series a channel, on a logarithmic axis.
/// @param marks  drawn as vertical lines.
[[nodiscard]] draw::Plot levels_plot(const files::PictureView& picture,
                                     const std::optional<LevelMarks>& marks);

}  // namespace lull::report
