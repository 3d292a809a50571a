#pragma once

#include "core/geometry.h"
#include "core/plane.h"
#include "files/picture.h"

namespace lull::run {

/// A part of a large picture that stands for the whole.
struct SkyWindow {
  Box box;               ///< px of the full picture
  bool has_sky = false;  ///< it shows dark sky and the object; else the bright part of a field
};

/// Where the picture shows sky, as finish::DarkSky asks for, the part that is covered and nearest
/// to half sky; otherwise the brightest part that is covered.
/// @param shown    reduced by `side`. @param covered  share of each of its pixels.
/// @param full     size of the picture. @param window_px  side of the part.
[[nodiscard]] SkyWindow sky_window(const files::PictureView& shown, PlaneView covered, int side,
                                   Size full, int window_px);

}  // namespace lull::run
