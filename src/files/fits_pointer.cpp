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

}  // namespace lull::files
