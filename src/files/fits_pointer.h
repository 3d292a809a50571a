#pragma once

#include <fitsio.h>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>

#include "core/geometry.h"

namespace lull::files {

struct CloseFits {
  void operator()(fitsfile* fits) const {
    int status = 0;
    fits_close_file(fits, &status);
    fits_clear_errmsg();
  }
};

/// An open FITS file, closed at the end of the scope; errors of CFITSIO are ignored there.
using FitsPointer = std::unique_ptr<fitsfile, CloseFits>;

/// Opens a file to be read, the only way in which this program does: its structure is checked first
/// (see check_fits_structure()). @throws InputError.
[[nodiscard]] FitsPointer open_fits(const std::filesystem::path& path);

/// An image of 32-bit floats in one plane or three.
struct FitsFloats {
  Size size;
  std::size_t channels = 1;  ///< 1 or 3
};

/// That of the present header; none where it is none, or has more than that many pixels.
[[nodiscard]] std::optional<FitsFloats> floats_here(fitsfile* fits, std::int64_t most_px);

/// To be called where CFITSIO reports that something is missing or damaged. It also does so where
/// the disk failed, which only errno tells: open_fits() clears it. @throws ReadError.
void throw_if_disk_failed(const std::filesystem::path& path);

}  // namespace lull::files
