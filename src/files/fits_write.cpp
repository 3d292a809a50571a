#include <algorithm>

#include "files/fits.h"
#include "files/fits_canvas.h"

namespace lull::files {

namespace {

void write_image(FitsCanvas& canvas, std::size_t image, const PictureView& picture) {
  for (std::size_t c = 0; c < picture.channels.size(); ++c)
    canvas.write(image, c, 0, 0, picture.channels[c]);
}

}  // namespace

void write_fits_float(const std::filesystem::path& path, const PictureView& picture,
                      const Metadata& metadata, const FitsParts& parts) {
  check_picture(picture, {});
  std::vector<FitsCanvasPart> images;
  for (const FitsImage& image : parts.images) {
    check_picture(image.picture, {});
    images.push_back({image.name, image.meaning, image.picture.size(),
                      image.picture.channels.size(), image.cards});
  }
  FitsCanvas canvas(path, picture.size(), picture.channels.size(), metadata, images,
                    FitsCanvas::Room::in_order);
  write_image(canvas, 0, picture);
  for (std::size_t i = 0; i < images.size(); ++i)
    write_image(canvas, i + 1, parts.images[i].picture);
  canvas.commit(parts.tables);
}

void write_fits_bands(const std::filesystem::path& path, const PictureBands& picture,
                      const Metadata& metadata) {
  check_bands(picture, {});
  FitsCanvas canvas(path, picture.size, picture.channels, metadata);
  for (int y = 0; y < picture.size.height_px; y += kBandRows) {
    const PictureView band = picture.rows(y, std::min(y + kBandRows, picture.size.height_px));
    for (std::size_t c = 0; c < picture.channels; ++c) canvas.write(0, c, 0, y, band.channels[c]);
  }
  canvas.commit({});
}

}  // namespace lull::files
