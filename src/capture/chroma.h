#pragma once

#include "core/geometry.h"
#include "core/samples.h"

namespace lull::capture {

/// How the two colour difference planes of a YUV capture lie beside its luma, and what they mean.
struct Chroma {
  int columns = 1;  ///< luma samples for one of theirs, in a row
  int rows = 1;
  /// Luma coordinate of their first sample, px.
  double first_x_px = 0;
  double first_y_px = 0;
  SampleScale scale;  ///< stored integer -> difference, 0 = no colour
  /// Shares of red and blue in the luma.
  double red = 0.299;
  double blue = 0.114;

  /// Samples of a difference plane beside a luma of that size.
  [[nodiscard]] Size size_beside(Size luma) const {
    return {(luma.width_px + columns - 1) / columns, (luma.height_px + rows - 1) / rows};
  }
};

/// The same after the picture was turned clockwise by quarters. @param luma  size before.
[[nodiscard]] Chroma turned_chroma(const Chroma& chroma, Size luma, int quarters);

}  // namespace lull::capture
