#include <fitsio.h>
#include <fmt/format.h>

#include <array>
#include <memory>
#include <string>

#include "core/error.h"
#include "files/fits.h"
#include "files/fits_pointer.h"

namespace lull::files {

namespace {

InputError bad_fits(const std::filesystem::path& path, const std::string& why) {
  return InputError(fmt::format("cannot read '{}': {}", path.string(), why));
}

/// @throws InputError with CFITSIO's own words.
void require(const std::filesystem::path& path, int status, const char* what) {
  if (status == 0) return;
  std::array<char, FLEN_STATUS> words = {};
  fits_get_errstatus(status, words.data());
  fits_clear_errmsg();
  throw bad_fits(path, fmt::format("{} ({})", what, words.data()));
}

struct Layout {
  int axes = 0;
  std::array<LONGLONG, 3> sides = {1, 1, 1};
  int bitpix = 0;
};

/// Moves to the first image with pixels; a file may begin with an empty primary header.
Layout find_image(const std::filesystem::path& path, fitsfile* fits) {
  int status = 0;
  int units = 0;
  fits_get_num_hdus(fits, &units, &status);
  require(path, status, "its FITS structure is damaged");
  for (int unit = 1; unit <= units; ++unit) {
    int type = 0;
    Layout layout;
    fits_movabs_hdu(fits, unit, &type, &status);
    require(path, status, "its FITS structure is damaged");
    if (type != IMAGE_HDU) continue;
    fits_get_img_dim(fits, &layout.axes, &status);
    fits_get_img_sizell(fits, 3, layout.sides.data(), &status);
    fits_get_img_type(fits, &layout.bitpix, &status);
    require(path, status, "its image header is damaged");
    if (layout.axes > 0) return layout;
  }
  throw bad_fits(path, "it holds no image");
}

void refuse_unsupported(const std::filesystem::path& path, const Layout& layout) {
  const auto& [width, height, depth] = layout.sides;
  if (layout.axes < 2 || layout.axes > 3 || (depth != 1 && depth != 3)) {
    throw bad_fits(path, "its image has neither one channel (2 axes) nor three (NAXIS3 = 3)");
  }
  if (width < 1 || height < 1) throw bad_fits(path, "the picture has no pixels");
  if (width > kMaxPicturePx || height > kMaxPicturePx || width * height > kMaxPicturePx) {
    throw bad_fits(
        path, fmt::format("{} x {} pixels are more than the {} million this program reads", width,
                          height, kMaxPicturePx / 1'000'000));
  }
  if (layout.bitpix == LONG_IMG || layout.bitpix == LONGLONG_IMG) {
    throw bad_fits(path, fmt::format("integers of {} bits are not supported; save it with 8 or 16 "
                                     "bit integers or 32-bit floats",
                                     layout.bitpix));
  }
}

double card_or(fitsfile* fits, const char* key, double otherwise) {
  int status = 0;
  double value = otherwise;
  fits_read_key(fits, TDOUBLE, key, &value, nullptr, &status);
  fits_clear_errmsg();
  return status == 0 ? value : otherwise;
}

bool states_stretched(fitsfile* fits) {
  int status = 0;
  int linear = 1;
  fits_read_key(fits, TLOGICAL, "LINEAR", &linear, nullptr, &status);
  fits_clear_errmsg();
  return status == 0 && linear == 0;
}

/// Light of a unit of physical = BZERO + BSCALE * stored.
double light_of_unit(fitsfile* fits, int bitpix) {
  if (bitpix < 0) return 1;  // floats are light already
  const double zero = card_or(fits, "BZERO", 0);
  if (card_or(fits, "BSCALE", 1) != 1) return 1;  // somebody chose a physical unit: keep it
  double full_scale = 255;
  if (bitpix == SHORT_IMG) full_scale = zero == 32768 ? 65535 : 32767;
  return 1 / full_scale;
}

}  // namespace

PictureFile read_fits(const std::filesystem::path& path, const SizeCheck& check) {
  const FitsPointer fits = open_fits(path);
  const Layout layout = find_image(path, fits.get());
  refuse_unsupported(path, layout);
  const double unit = light_of_unit(fits.get(), layout.bitpix);

  PictureFile file;
  file.format = Format::fits;
  file.bits_per_sample = std::abs(layout.bitpix);
  file.floating_point = layout.bitpix < 0;
  file.stretched = states_stretched(fits.get());
  const Size size = {static_cast<int>(layout.sides[0]), static_cast<int>(layout.sides[1])};
  const auto channels = static_cast<int>(layout.sides[2]);
  if (check) check(size, channels);
  const auto samples = static_cast<std::uintmax_t>(size.area_px() * channels);
  if (std::filesystem::file_size(path) < samples * static_cast<unsigned>(file.bits_per_sample / 8))
    throw bad_fits(path, "its samples are cut short");
  file.picture = make_picture(size, channels);
  LONGLONG first = 1;
  for (Plane& channel : file.picture.channels) {
    for (int y = 0; y < size.height_px; ++y) {
      int status = 0;
      float* row = channel.row(y);
      fits_read_img(fits.get(), TFLOAT, first, size.width_px, nullptr, row, nullptr, &status);
      require(path, status, "its samples are damaged or cut short");
      first += size.width_px;
      if (layout.bitpix < 0) continue;
      for (int x = 0; x < size.width_px; ++x) {
        row[x] = static_cast<float>(static_cast<double>(row[x]) * unit);
      }
    }
  }
  return file;
}

}  // namespace lull::files
