#include "files/fits_boxes.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cmath>

#include "core/error.h"
#include "files/fits_pointer.h"
#include "files/picture_bands.h"

namespace lull::files {

struct FitsBoxes::File {
  std::filesystem::path path;
  FitsPointer fits;
  int unit = 1;  ///< that is open
};

namespace {

InputError bad_fits(const std::filesystem::path& path, const std::string& why) {
  throw_if_disk_failed(path);
  return InputError(fmt::format("cannot read '{}': {}", path.string(), why));
}

// Of the present header.
FitsBoxes::Image image_here(fitsfile* fits, int unit) {
  const auto floats = floats_here(fits, kMaxBandsPx);
  return floats ? FitsBoxes::Image{floats->size, floats->channels, unit} : FitsBoxes::Image{};
}

}  // namespace

FitsBoxes::FitsBoxes(const std::filesystem::path& path)
    : file_(std::make_unique<File>(File{path, open_fits(path)})) {}

FitsBoxes::~FitsBoxes() = default;
FitsBoxes::FitsBoxes(FitsBoxes&&) noexcept = default;
FitsBoxes& FitsBoxes::operator=(FitsBoxes&&) noexcept = default;

FitsBoxes::Image FitsBoxes::first() const {
  int status = 0;
  fits_movabs_hdu(file_->fits.get(), 1, nullptr, &status);
  file_->unit = 1;
  return status == 0 ? image_here(file_->fits.get(), 1) : Image{};
}

FitsBoxes::Image FitsBoxes::named(const std::string& name) const {
  int status = 0;
  std::string copy = name;
  fits_movnam_hdu(file_->fits.get(), IMAGE_HDU, copy.data(), 0, &status);
  fits_clear_errmsg();
  if (status != 0) return {};
  fits_get_hdu_num(file_->fits.get(), &file_->unit);
  const Image image = image_here(file_->fits.get(), file_->unit);
  if (image.channels == 0)
    throw bad_fits(file_->path, fmt::format("its extension {} is damaged", name));
  return image;
}

Plane FitsBoxes::read(const Image& image, std::size_t channel, const Box& box) {
  int status = 0;
  errno = 0;
  if (image.unit != file_->unit) {
    fits_movabs_hdu(file_->fits.get(), image.unit, nullptr, &status);
    file_->unit = image.unit;
  }
  const LONGLONG width = image.size.width_px;
  const LONGLONG height = image.size.height_px;
  Plane out(box.width_px(), box.height_px());
  for (int y = 0; y < out.height(); ++y) {
    const LONGLONG first_sample =
        (static_cast<LONGLONG>(channel) * height + box.y0 + y) * width + box.x0 + 1;
    float* row = out.row(y);
    fits_read_img(file_->fits.get(), TFLOAT, first_sample, out.width(), nullptr, row, nullptr,
                  &status);
    if (status != 0) {
      fits_clear_errmsg();
      throw bad_fits(file_->path, "its samples are damaged or cut short");
    }
    if (!std::all_of(row, row + out.width(), [](float v) { return std::isfinite(v); }))
      throw bad_fits(file_->path,
                     fmt::format("row {} holds samples that are not finite numbers", box.y0 + y));
  }
  return out;
}

}  // namespace lull::files
