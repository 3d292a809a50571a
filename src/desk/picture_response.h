#pragma once

#include <string>

#include "desk/http.h"
#include "files/bitmap.h"

namespace lull::desk {

[[nodiscard]] Response jpeg_response(const files::Bitmap& bitmap, int quality);

[[nodiscard]] Response png_response(const files::Bitmap& bitmap);

/// A picture file as a screen shows it, JPEG. What is in proportion to light gets black and white
/// of its own. @param longest_px  of its sides. @throws InputError as files::read_picture() does.
[[nodiscard]] Response small_picture_response(const std::string& file, int longest_px);

}  // namespace lull::desk
