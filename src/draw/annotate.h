#pragma once

#include <optional>
#include <string>

#include "files/picture.h"

namespace lull::draw {

/// A line that shows how large things are.
struct ScaleBar {
  int length_px = 0;
  std::string label;  ///< UTF-8
};

/// What is written under a picture.
struct Annotation {
  std::string caption;  ///< UTF-8; empty = none
  std::optional<ScaleBar> bar;

  [[nodiscard]] bool empty() const { return caption.empty() && !bar; }
};

/// The picture above a black strip with the scale bar, its label and the caption in white, so that
/// nothing of the picture is hidden. Text that is wider than the picture is wrapped at spaces; a
/// label that does not fit beside the bar is written below it. Letters are 14 px high in pictures
/// up to 640 px wide, and grow in proportion with wider ones.
/// @param picture  1 or 3 channels, values from 0 to 1.
[[nodiscard]] files::Picture annotated(const files::PictureView& picture,
                                       const Annotation& annotation);

}  // namespace lull::draw
