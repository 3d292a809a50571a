#include "files/picture_bands.h"

namespace lull::files {

PictureBands bands_of(const PictureView& picture, const Encoding& encoding) {
  check_picture(picture, encoding);
  return {picture.size(), picture.channels.size(), [&picture](int y0, int y1) {
            PictureView band;
            for (const PlaneView& channel : picture.channels)
              band.channels.push_back(channel.crop({0, y0, channel.width_px, y1}));
            return band;
          }};
}

void check_bands(const PictureBands& picture, const Encoding& encoding) {
  LULL_ASSERT(picture.channels == 1 || picture.channels == 3);
  check_written(picture.size, kMaxBandsPx, encoding);
}

}  // namespace lull::files
