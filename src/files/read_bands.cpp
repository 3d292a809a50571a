#include "files/read_bands.h"

#include <algorithm>
#include <utility>

#include "files/failure.h"
#include "files/fits_boxes.h"
#include "files/picture_file.h"
#include "files/tiff.h"

namespace lull::files {

namespace {

// false: not an image of floats.
bool read_fits_bands(const std::filesystem::path& path, const BandTaker& taker) {
  FitsBoxes file(path);
  const FitsBoxes::Image image = file.first();
  if (image.channels == 0) return false;
  taker.begin({image.size, image.channels, false});
  const int height = image.size.height_px;
  for (int y0 = 0; y0 < height; y0 += kBandRows) {
    const Box box{0, y0, image.size.width_px, std::min(y0 + kBandRows, height)};
    Picture band;
    for (std::size_t c = 0; c < image.channels; ++c)
      band.channels.push_back(file.read(image, c, box));
    taker.take(band.view(), y0);
  }
  return true;
}

void read_whole(const std::filesystem::path& path, const BandTaker& taker) {
  const PictureFile file = read_picture(path);
  const PictureView picture = file.picture.view();
  taker.begin({picture.size(), picture.channels.size(), file.stretched});
  taker.take(picture, 0);
}

}  // namespace

void read_bands(const std::filesystem::path& path, const BandTaker& taker) {
  const bool is_read = with_disk_errors(path, [&] {
    switch (format_of_content(path)) {
      case Format::tiff:
        read_tiff_bands(path, taker);
        return true;
      case Format::fits:
        return read_fits_bands(path, taker);
      case Format::png:
        break;
    }
    return false;
  });
  if (!is_read) read_whole(path, taker);
}

}  // namespace lull::files
