#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "files/metadata.h"

namespace lull::files {

/// Whether a file begins as FITS files do (FITS Standard 4.0, section 4.4.1.1).
[[nodiscard]] bool is_fits(const std::filesystem::path& path);

/// The values of these header cards of the first header, as text, long ones whole; cards that are
/// missing are left out. @throws InputError: not a FITS file, or damaged.
[[nodiscard]] std::map<std::string, std::string> read_fits_cards(
    const std::filesystem::path& path, const std::vector<std::string>& keys);

/// These header cards of the first header, typed and with their comments, in the order asked for;
/// cards that are missing, or are neither logical, number nor text, are left out.
/// @throws InputError: not a FITS file, or damaged.
[[nodiscard]] std::vector<Card> read_typed_cards(const std::filesystem::path& path,
                                                 const std::vector<std::string>& keys);

}  // namespace lull::files
