#include "files/picture_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>

#include "core/error.h"
#include "files/failure.h"
#include "files/fits.h"
#include "files/png.h"
#include "files/tiff.h"

namespace lull::files {

namespace {

using namespace std::string_view_literals;

std::string lower(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

void refuse_not_finite(const std::filesystem::path& path, const Picture& picture) {
  std::int64_t count = 0;
  int first_x = 0;
  int first_y = 0;
  for (const Plane& channel : picture.channels) {
    for (int y = 0; y < channel.height(); ++y) {
      const float* row = channel.row(y);
      for (int x = 0; x < channel.width(); ++x) {
        if (std::isfinite(row[x])) continue;
        if (count++ == 0) {
          first_x = x;
          first_y = y;
        }
      }
    }
  }
  if (count == 0) return;
  throw InputError(fmt::format(
      "cannot use '{}': {} of its samples are not finite numbers, the first at column {}, row {}; "
      "replace them by numbers in the program that wrote the file",
      path.string(), count, first_x, first_y));
}

constexpr std::size_t kLongestMagic = 16;

PictureFile read_by_content(const std::filesystem::path& path, const SizeCheck& check) {
  switch (format_of_content(path)) {
    case Format::png:
      return read_png(path, check);
    case Format::fits:
      return read_fits(path, check);
    case Format::tiff:
      break;
  }
  return read_tiff(path, check);
}

}  // namespace

Format format_of(const std::filesystem::path& path) {
  const std::string ending = lower(path.extension().string());
  if (ending == ".tif" || ending == ".tiff") return Format::tiff;
  if (ending == ".png") return Format::png;
  if (ending == ".fits" || ending == ".fit") return Format::fits;
  throw UsageError(fmt::format(
      "the picture format of '{}' is unknown; give it a name that ends in .tif, .tiff, .png, "
      ".fits or .fit",
      path.string()));
}

Format format_of_content(const std::filesystem::path& path) {
  const std::string why = why_unreadable(path);
  if (!why.empty()) throw InputError(fmt::format("cannot read '{}': {}", path.string(), why));
  const std::string start = first_bytes(path, kLongestMagic);
  if (start.starts_with("\x89PNG\r\n\x1a\n"sv)) return Format::png;
  if (start.starts_with("SIMPLE  ="sv)) return Format::fits;
  for (const std::string_view magic : {"II*\0"sv, "MM\0*"sv, "II+\0"sv, "MM\0+"sv}) {
    if (start.starts_with(magic)) return Format::tiff;
  }
  if (start.starts_with("\xFF\xD8\xFF"sv)) {
    throw InputError(
        fmt::format("cannot read '{}': it is a JPEG, of 8 bits, stretched and compressed, so that "
                    "little is left to work with; use the linear stack, or save the picture as "
                    "TIFF or PNG with 16 bits before it becomes a JPEG",
                    path.string()));
  }
  throw InputError(
      fmt::format("cannot read '{}': it is not a TIFF, PNG or FITS picture", path.string()));
}

Clipped write_picture(const std::filesystem::path& path, const PictureView& picture,
                      const Encoding& encoding, const Metadata& metadata) {
  switch (format_of(path)) {
    case Format::tiff:
      return write_tiff16(path, picture, encoding, metadata);
    case Format::png:
      return write_png16(path, picture, encoding, metadata);
    case Format::fits:
      break;
  }
  write_fits_float(path, picture, metadata);
  return {};
}

Clipped write_bands(const std::filesystem::path& path, const PictureBands& picture,
                    const Encoding& encoding, const Metadata& metadata) {
  switch (format_of(path)) {
    case Format::tiff:
      return write_tiff16_bands(path, picture, tiff_layout(picture.size, picture.channels),
                                encoding, metadata);
    case Format::png:
      return write_png16_bands(path, picture, encoding, metadata);
    case Format::fits:
      break;
  }
  write_fits_bands(path, picture, metadata);
  return {};
}

PictureFile read_picture(const std::filesystem::path& path, const SizeCheck& check) {
  PictureFile file = with_disk_errors(path, [&] { return read_by_content(path, check); });
  refuse_not_finite(path, file.picture);
  return file;
}

}  // namespace lull::files
