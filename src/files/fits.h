#pragma once

#include <filesystem>

#include "files/fits_parts.h"
#include "files/metadata.h"
#include "files/picture.h"
#include "files/picture_bands.h"
#include "files/stored_picture.h"

namespace lull::files {

/// Writes a FITS image of 32-bit floats, values unchanged: NAXIS3 = 3 for red, green, blue. The
/// first row of the array is the top row of the picture, as a COMMENT card in the file states; the
/// standard leaves that open. Cards become header cards (long texts with CONTINUE; numbers that
/// are not finite as text; characters outside ASCII as '?'), the description
/// HISTORY. CHECKSUM and DATASUM are set. Source: FITS Standard 4.0.
/// @param parts  further images and tables, written behind it as extensions.
/// @throws OutputError.
void write_fits_float(const std::filesystem::path& path, const PictureView& picture,
                      const Metadata& metadata, const FitsParts& parts = {});

/// The same of a picture that comes in bands, without parts.
void write_fits_bands(const std::filesystem::path& path, const PictureBands& picture,
                      const Metadata& metadata);

/// Reads the first image of a FITS file (unsigned 8 or 16 bit, signed 16 bit, float, double); the
/// first row is taken as the top. Integers are divided by their full scale. Does not check that
/// floats are finite: see read_picture(). @throws InputError.
[[nodiscard]] PictureFile read_fits(const std::filesystem::path& path, const SizeCheck& check = {});

}  // namespace lull::files
