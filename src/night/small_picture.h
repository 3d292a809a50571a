#pragma once

#include <string>

#include "files/picture.h"
#include "run/finish_picture.h"

namespace lull::night {

/// Longest side of a small picture, px.
inline constexpr int kSmallPicture_px = 360;

/// The finished picture for a contact sheet, as a data URI of a JPEG.
[[nodiscard]] std::string small_picture(const run::Finished& finished);

}  // namespace lull::night
