#include "files/fits_pointer.h"

#include <fmt/format.h>

#include <array>
#include <cerrno>

#include "core/error.h"
#include "files/failure.h"
#include "files/fits_structure.h"
#include "files/place.h"

namespace lull::files {

FitsPointer open_fits(const std::filesystem::path& path) {
  static_cast<void>(check_fits_structure(path));
  int status = 0;
  errno = 0;
  fitsfile* fits = nullptr;
  // The absolute name: others may mean memory or standard input to CFITSIO.
  fits_open_diskfile(&fits, place_of(path).c_str(), READONLY, &status);
  FitsPointer owner(fits);
  if (status == 0) {
    errno = 0;  // see throw_if_disk_failed()
    return owner;
  }
  if (is_disk_error(errno)) throw cannot_read(path, errno);
  std::array<char, FLEN_STATUS> words = {};
  fits_get_errstatus(status, words.data());
  fits_clear_errmsg();
  throw InputError(fmt::format("cannot read '{}': its FITS structure is damaged ({})",
                               path.string(), words.data()));
}

void throw_if_disk_failed(const std::filesystem::path& path) {
  if (is_disk_error(errno)) throw cannot_read(path, errno);
}

std::optional<FitsFloats> floats_here(fitsfile* fits, std::int64_t most_px) {
  int status = 0;
  int bitpix = 0;
  int axes = 0;
  std::array<LONGLONG, 3> sides = {0, 0, 1};
  fits_get_img_type(fits, &bitpix, &status);
  fits_get_img_dim(fits, &axes, &status);
  fits_get_img_sizell(fits, 3, sides.data(), &status);
  fits_clear_errmsg();
  const auto& [width, height, depth] = sides;
  const bool possible = status == 0 && bitpix == FLOAT_IMG && axes >= 2 && axes <= 3 &&
                        (depth == 1 || depth == 3) && width >= 1 && height >= 1 &&
                        width <= most_px && height <= most_px / width;
  if (!possible) return std::nullopt;
  return FitsFloats{{static_cast<int>(width), static_cast<int>(height)},
                    static_cast<std::size_t>(depth)};
}

}  // namespace lull::files
