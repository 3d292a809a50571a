#pragma once

#include <cstdint>
#include <filesystem>
#include <vector>

namespace lull::capture {

/// Lengths of the axes that the first header of a FITS file states (FITS Standard 4.0, section
/// 4.4.1); empty for all else, unreadable files too. The file is not opened as a picture.
[[nodiscard]] std::vector<std::int64_t> fits_axes(const std::filesystem::path& path);

/// Does it state a third axis of images? One of length 3 means colours.
[[nodiscard]] bool is_fits_cube(const std::filesystem::path& path);

}  // namespace lull::capture
