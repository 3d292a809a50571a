#pragma once

#include <filesystem>

namespace lull::files {

/// Checks the structure of a FITS file with a reader of its own, before CFITSIO opens it: CFITSIO
/// 4.2 writes beyond its arrays for some headers. Accepted are, in every header and data unit:
/// mandatory keywords in the order of FITS Standard 4.0 (sections 4.4.1 and 7), each of them once;
/// up to 4 axes, sizes whose product is a file size, plain images and tables. Data that is cut off
/// at the end of the file is accepted; what is missing of it shows when it is read.
/// @throws InputError: no regular file, no FITS file, or a header that is not accepted. Images that
/// are compressed inside a table (section 10) are refused too: CFITSIO decodes them without a limit
/// on what it reads.
/// @return header and data units, at least 1.
[[nodiscard]] int check_fits_structure(const std::filesystem::path& path);

}  // namespace lull::files
