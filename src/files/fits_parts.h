#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "files/picture.h"

namespace lull::files {

struct FitsColumn {
  std::string name;  ///< of letters, digits and _
  std::string unit;  ///< empty = a pure number
  std::vector<double> values;
};

/// A binary table of doubles. Columns have one length; none is empty.
struct FitsTable {
  std::string name;  ///< EXTNAME
  std::vector<FitsColumn> columns;

  /// Values of that column; nullptr where the table has none. Valid as long as the table is.
  [[nodiscard]] const std::vector<double>* find(const std::string& column) const;
};

/// One more image of 32-bit floats.
struct FitsImage {
  std::string name;     ///< EXTNAME
  std::string meaning;  ///< a line for the header
  PictureView picture;
  std::vector<Card> cards{};
};

/// Extensions of a FITS file after its first image: images and tables.
struct FitsParts {
  std::vector<FitsImage> images;
  std::vector<FitsTable> tables;
};

/// The image extension of that name, floats as stored; none where the file has no such extension.
/// @throws InputError: damaged, not 32-bit floats, larger than kMaxPicturePx, or not finite.
[[nodiscard]] std::optional<Picture> read_fits_image(const std::filesystem::path& path,
                                                     const std::string& name);

/// The table extension of that name, all its columns read as doubles; none if the file has none.
/// @throws InputError: damaged, or longer than any table of this program.
[[nodiscard]] std::optional<FitsTable> read_fits_table(const std::filesystem::path& path,
                                                       const std::string& name);

/// How many images with pixels the file holds. @throws InputError: its structure is damaged.
[[nodiscard]] int count_fits_images(const std::filesystem::path& path);

}  // namespace lull::files
