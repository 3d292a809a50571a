#include "capture/fits_image.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <limits>
#include <string_view>

#include "capture/input_file.h"
#include "capture/limits.h"
#include "core/error.h"
#include "files/failure.h"

namespace lull::capture {

namespace {

constexpr int kMostAxes = 4;

[[nodiscard]] InputError bad_fits(const std::string& path, std::string_view why) {
  return InputError(
      fmt::format("{}: is a FITS file that cannot be read as a capture: {}.", path, why));
}

void require(const std::string& path, int status, std::string_view what) {
  if (status == 0) return;
  std::array<char, FLEN_STATUS> words{};
  fits_get_errstatus(status, words.data());
  fits_clear_errmsg();
  throw bad_fits(path, fmt::format("{} ({})", what, words.data()));
}

/// Moves to the first image with pixels; a file may begin with an empty primary header.
void find_image(const std::string& path, fitsfile* file) {
  int status = 0;
  int units = 0;
  fits_get_num_hdus(file, &units, &status);
  require(path, status, "its structure is damaged");
  for (int unit = 1; unit <= units; ++unit) {
    int kind = 0;
    int axes = 0;
    fits_movabs_hdu(file, unit, &kind, &status);
    if (status == 0 && kind == IMAGE_HDU) fits_get_img_dim(file, &axes, &status);
    require(path, status, "its header is damaged");
    if (axes > 0) return;
  }
  throw bad_fits(path, "there is no image in it");
}

constexpr double kLongestExposureS = 86400;

[[nodiscard]] double number_or(fitsfile* file, const char* key, double otherwise) {
  int status = 0;
  double value = otherwise;
  fits_read_key(file, TDOUBLE, key, &value, nullptr, &status);
  fits_clear_errmsg();
  return status == 0 ? value : otherwise;
}

/// The mosaic whose first block is `pattern`, seen from a place that is off by (x, y).
[[nodiscard]] Cfa mosaic_of(std::string pattern, bool odd_x, bool odd_y) {
  if (pattern.size() != 4) return Cfa::none;
  if (odd_x) {
    std::swap(pattern[0], pattern[1]);
    std::swap(pattern[2], pattern[3]);
  }
  if (odd_y) {
    std::swap(pattern[0], pattern[2]);
    std::swap(pattern[1], pattern[3]);
  }
  for (const Cfa cfa : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
    if (cfa_name(cfa) == pattern) return cfa;
  }
  return Cfa::none;
}

[[nodiscard]] FitsKind kind_of(fitsfile* file, int bitpix) {
  const double zero = number_or(file, "BZERO", 0);
  if (number_or(file, "BSCALE", 1) != 1) return FitsKind::others;
  if (bitpix == BYTE_IMG && zero == 0) return FitsKind::bytes;
  if (bitpix == SHORT_IMG && zero == 32768) return FitsKind::words;
  return FitsKind::others;
}

}  // namespace

FitsImage::FitsImage(const std::string& path) : path_(path) {
  static_cast<void>(InputFile(path));  // throws where the file itself cannot be read
  file_ = files::open_fits(path);
  find_image(path, file_.get());
  read_header(path);
}

void FitsImage::read_axes(const std::string& path) {
  int status = 0;
  int axes = 0;
  std::array<LONGLONG, kMostAxes> sides = {1, 1, 1, 1};
  fits_get_img_dim(file_.get(), &axes, &status);
  require(path, status, "its header is damaged");
  if (axes < 2 || axes > kMostAxes) {
    throw bad_fits(
        path, fmt::format("it has {} axes; 2 to {} are supported (width, height, colour, frames)",
                          axes, kMostAxes));
  }
  fits_get_img_sizell(file_.get(), axes, sides.data(), &status);
  require(path, status, "its header is damaged");
  const bool representable = std::all_of(sides.begin(), sides.begin() + 2, [](LONGLONG side) {
    return side <= std::numeric_limits<int>::max();
  });
  if (!representable) throw bad_fits(path, "its sides are too long for a camera");
  header_.size = {static_cast<int>(sides[0]), static_cast<int>(sides[1])};
  check_size(path, header_.size);
  const bool colours = sides[2] == 3;
  if (axes == kMostAxes && !colours) {
    throw bad_fits(
        path,
        fmt::format("its third axis has a length of {}; with four axes it must be 3 (the colours)",
                    sides[2]));
  }
  header_.planes = colours ? 3 : 1;
  header_.frames = colours ? sides[3] : sides[2];
  if (header_.frames < 1) throw bad_fits(path, "it holds no frame");
}

void FitsImage::read_header(const std::string& path) {
  read_axes(path);
  int status = 0;
  int bitpix = 0;
  fits_get_img_type(file_.get(), &bitpix, &status);
  require(path, status, "its header is damaged");
  header_.kind = kind_of(file_.get(), bitpix);
  header_.from_bottom = text_of("ROWORDER") == "BOTTOM-UP";
  const auto is_odd = [this](const char* key) {
    return std::fmod(std::abs(number_or(file_.get(), key, 0)), 2.0) == 1.0;
  };
  if (header_.planes == 1)
    header_.cfa = mosaic_of(text_of("BAYERPAT"), is_odd("XBAYROFF"), is_odd("YBAYROFF"));
  const std::string system = text_of("TIMESYS");
  const auto date = parse_iso8601(text_of("DATE-OBS"));
  if (date && is_plausible(*date) && (system.empty() || system == "UTC")) header_.date = date;
  header_.exposure_s = number_or(file_.get(), "EXPTIME", number_or(file_.get(), "EXPOSURE", 0));
  const bool sensible = header_.exposure_s > 0 && header_.exposure_s < kLongestExposureS;
  if (!sensible) header_.exposure_s = 0;  // NaN too
  count_whole_frames(path, bitpix);
}

/// A cube that was cut off is as long as its file; what CFITSIO would put in place of the rest is
/// no frame.
void FitsImage::count_whole_frames(const std::string& path, int bitpix) {
  header_.whole_frames = header_.frames;
  int status = 0;
  LONGLONG begin = 0;
  fits_get_hduaddrll(file_.get(), nullptr, &begin, nullptr, &status);
  require(path, status, "its structure is damaged");
  const auto bytes = static_cast<std::int64_t>(std::filesystem::file_size(path));
  const std::int64_t frame_bytes = header_.samples() * (std::abs(bitpix) / 8);
  header_.whole_frames =
      std::min(header_.frames, std::max<std::int64_t>(bytes - begin, 0) / frame_bytes);
  if (header_.whole_frames == header_.frames) return;
  header_.mismatch = fmt::format("the header states {} frames, the file holds {} complete ones",
                                 header_.frames, header_.whole_frames);
}

std::string FitsImage::text_of(const char* key) {
  int status = 0;
  std::array<char, FLEN_VALUE> text{};
  fits_read_key(file_.get(), TSTRING, key, text.data(), nullptr, &status);
  fits_clear_errmsg();
  return status == 0 ? text.data() : "";
}

template <class T>
bool FitsImage::read_as(int type, std::int64_t frame, std::span<T> into) {
  int status = 0;
  int any_undefined = 0;
  T undefined{};
  errno = 0;
  if constexpr (std::is_floating_point_v<T>) undefined = std::numeric_limits<T>::quiet_NaN();
  fits_read_img(file_.get(), type, 1 + frame * header_.samples(), header_.samples(), &undefined,
                into.data(), &any_undefined, &status);
  fits_clear_errmsg();
  if (status != 0 && files::is_disk_error(errno)) throw files::cannot_read(path_, errno);
  if (status != 0) return false;
  if (!header_.from_bottom) return true;
  const auto width = static_cast<std::ptrdiff_t>(header_.size.width_px);
  const auto height = static_cast<std::ptrdiff_t>(header_.size.height_px);
  for (std::ptrdiff_t plane = 0; plane < header_.planes; ++plane) {
    const auto first = into.begin() + plane * width * height;
    for (std::ptrdiff_t y = 0; y < height / 2; ++y) {
      std::swap_ranges(first + y * width, first + (y + 1) * width,
                       first + (height - 1 - y) * width);
    }
  }
  return true;
}

bool FitsImage::read(std::int64_t frame, std::span<std::uint8_t> into) {
  return read_as(TBYTE, frame, into);
}

bool FitsImage::read(std::int64_t frame, std::span<std::uint16_t> into) {
  return read_as(TUSHORT, frame, into);
}

bool FitsImage::read(std::int64_t frame, std::span<float> into) {
  return read_as(TFLOAT, frame, into);
}

}  // namespace lull::capture
