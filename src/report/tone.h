#pragma once

#include <cstdint>

#include "files/bitmap.h"
#include "files/metadata.h"
#include "files/picture.h"
#include "finish/levels.h"

namespace lull::report {

/// Linear light in [0, 1] as a value of sRGB, 0 to 255; outside it is limited, NaN is 0.
[[nodiscard]] std::uint8_t srgb_byte(double light);

/// The picture as screens show it. Samples that are NaN are black.
/// @param transfer linear values get the curve of sRGB, others are only scaled.
/// @param reduction mean over squares of that side, in light; what does not fill one is left out.
[[nodiscard]] files::Bitmap toned(const files::PictureView& picture, const finish::Levels& levels,
                                  files::Transfer transfer, int reduction);

}  // namespace lull::report
