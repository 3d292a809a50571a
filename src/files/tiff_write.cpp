#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <tiffio.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <memory>
#include <span>
#include <vector>

#include "core/assert.h"
#include "files/atomic_file.h"
#include "files/failure.h"
#include "files/icc.h"
#include "files/tiff.h"

namespace lull::files {

namespace {

constexpr std::size_t kStripBytes = std::size_t{1} << 20U;
constexpr int kTilePx = kBandRows;
static_assert(kTilePx % 16 == 0);  // TIFF 6.0, section 15
constexpr std::int64_t kTiledFromPx = 50'000'000;
constexpr double kMostPlainBytes = 4e9;
constexpr double kMayGrow = 1.02;  // deflate adds little to what does not shrink

/// What libtiff reported, instead of printing it. System calls set errno just before.
struct Trouble {
  bool happened = false;
  int error_number = 0;
};

int note_error(TIFF*, void* trouble, const char*, const char*, va_list) {
  auto& noted = *static_cast<Trouble*>(trouble);
  if (!noted.happened) noted = {true, errno};
  return 1;
}

int ignore_warning(TIFF*, void*, const char*, const char*, va_list) { return 1; }

struct Close {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }

  void operator()(TIFFOpenOptions* options) const { TIFFOpenOptionsFree(options); }
};

using TiffPointer = std::unique_ptr<TIFF, Close>;

/// libtiff closes its descriptor, so it gets one of its own.
TiffPointer open_for_writing(int descriptor, const TiffLayout& layout, Trouble& trouble) {
  const std::unique_ptr<TIFFOpenOptions, Close> options(TIFFOpenOptionsAlloc());
  TIFFOpenOptionsSetErrorHandlerExtR(options.get(), note_error, &trouble);
  TIFFOpenOptionsSetWarningHandlerExtR(options.get(), ignore_warning, nullptr);
  const int own = ::fcntl(descriptor, F_DUPFD_CLOEXEC, 0);
  TiffPointer tiff(TIFFFdOpenExt(own, "picture", layout.big ? "w8" : "w", options.get()));
  if (!tiff && own >= 0) ::close(own);
  return tiff;
}

enum class Alpha { none, last };

void set_layout(TIFF* tiff, const PictureBands& picture, const TiffLayout& layout, Alpha alpha) {
  const auto width = static_cast<std::uint32_t>(picture.size.width_px);
  const auto height = static_cast<std::uint32_t>(picture.size.height_px);
  const auto channels = static_cast<unsigned>(picture.channels);
  const unsigned samples = channels + (alpha == Alpha::last ? 1 : 0);
  const std::size_t row_bytes = std::max<std::size_t>(std::size_t{2} * width * samples, 1);
  const auto strip_rows = static_cast<std::uint32_t>(
      std::clamp<std::size_t>(kStripBytes / row_bytes, 1, std::max(height, 1U)));
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16U);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, samples);
  if (alpha == Alpha::last) {
    const std::uint16_t kind = EXTRASAMPLE_UNASSALPHA;
    TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1U, &kind);
  }
  TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, unsigned{SAMPLEFORMAT_UINT});
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
               channels == 3 ? unsigned{PHOTOMETRIC_RGB} : unsigned{PHOTOMETRIC_MINISBLACK});
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, unsigned{PLANARCONFIG_CONTIG});
  TIFFSetField(tiff, TIFFTAG_ORIENTATION, unsigned{ORIENTATION_TOPLEFT});
  if (layout.tiled) {
    TIFFSetField(tiff, TIFFTAG_TILEWIDTH, unsigned{kTilePx});
    TIFFSetField(tiff, TIFFTAG_TILELENGTH, unsigned{kTilePx});
  } else {
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, strip_rows);
  }
  TIFFSetField(tiff, TIFFTAG_COMPRESSION, unsigned{COMPRESSION_ADOBE_DEFLATE});
  TIFFSetField(tiff, TIFFTAG_PREDICTOR, unsigned{PREDICTOR_HORIZONTAL});
  // Square pixels of no known physical size (TIFF 6.0, ResolutionUnit 1); the tags are mandatory.
  TIFFSetField(tiff, TIFFTAG_RESOLUTIONUNIT, unsigned{RESUNIT_NONE});
  TIFFSetField(tiff, TIFFTAG_XRESOLUTION, 1.0);
  TIFFSetField(tiff, TIFFTAG_YRESOLUTION, 1.0);
}

/// TIFF 6.0 specifies 7-bit ASCII; UTF-8 instead is common practice and keeps file names.
void set_texts(TIFF* tiff, const Metadata& metadata, const Encoding& encoding) {
  TIFFSetField(tiff, TIFFTAG_SOFTWARE, software_name().c_str());
  TIFFSetField(tiff, TIFFTAG_IMAGEDESCRIPTION, describe(metadata, encoding).c_str());
  if (!metadata.date) return;
  const auto seconds = std::chrono::system_clock::to_time_t(*metadata.date);
  TIFFSetField(tiff, TIFFTAG_DATETIME,
               fmt::format("{:%Y:%m:%d %H:%M:%S}", fmt::gmtime(seconds)).c_str());
}

void set_profile(TIFF* tiff, const Metadata& metadata, const PictureBands& picture) {
  if (metadata.transfer == Transfer::linear) return;
  const auto profile = srgb_profile(static_cast<int>(picture.channels));
  TIFFSetField(tiff, TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(profile.size()),
               profile.data());
}

// Collects rows into whole strips: libtiff then compresses by libdeflate, where it has that, in a
// third of the time.
class Strips {
 public:
  Strips(TIFF* tiff, std::size_t row_samples) : tiff_(tiff), row_samples_(row_samples) {
    TIFFGetField(tiff, TIFFTAG_ROWSPERSTRIP, &rows_);
  }

  // Where the samples of the next row go.
  std::span<std::uint16_t> next_row() {
    samples_.resize(samples_.size() + row_samples_);
    return std::span(samples_).last(row_samples_);
  }

  // After a row was filled, the last of the picture or another one.
  void end_row(bool is_last) {
    if (!is_last && samples_.size() < rows_ * row_samples_) return;
    errno = 0;
    TIFFWriteEncodedStrip(tiff_, strip_++, samples_.data(),
                          static_cast<tmsize_t>(samples_.size() * sizeof(std::uint16_t)));
    samples_.clear();
  }

 private:
  TIFF* tiff_;
  std::size_t row_samples_;
  std::uint32_t rows_ = 1;
  std::uint32_t strip_ = 0;
  std::vector<std::uint16_t> samples_;
};

// Samples of a row with alpha behind those of each pixel.
void put_with_alpha(const std::vector<std::uint16_t>& row, const float* seen, std::size_t width,
                    std::span<std::uint16_t> out) {
  const std::size_t channels = row.size() / width;
  auto to = out.begin();
  for (std::size_t x = 0; x < width; ++x) {
    for (std::size_t c = 0; c < channels; ++c) *to++ = row[x * channels + c];
    *to++ = seen[x] != 0 ? 65535 : 0;
  }
}

/// Of the band from row y0.
/// @param seen  of the whole picture; without data: no alpha. @param height  of the whole picture.
Clipped write_rows(const PictureView& band, int y0, int height, const Encoding& encoding,
                   const PlaneView& seen, Strips& strips) {
  Clipped clipped;
  const auto width = static_cast<std::size_t>(band.size().width_px);
  std::vector<std::uint16_t> opaque(seen.data == nullptr ? 0 : width * band.channels.size());
  for (int y = 0; y < band.size().height_px; ++y) {
    const std::span<std::uint16_t> row = strips.next_row();
    if (seen.data == nullptr) {
      clipped += encode_row(band.channels, y, encoding, row);
    } else {
      clipped += encode_row(band.channels, y, encoding, opaque);
      put_with_alpha(opaque, seen.row(y0 + y), width, row);
    }
    strips.end_row(y0 + y + 1 == height);
  }
  return clipped;
}

/// One row of tiles; what of them lies beyond the picture is 0.
Clipped write_tiles(TIFF* tiff, const PictureView& band, int y0, const Encoding& encoding) {
  Clipped clipped;
  const std::size_t channels = band.channels.size();
  const std::size_t row_samples = std::size_t{kTilePx} * channels;
  std::vector<std::uint16_t> tile;
  for (int x = 0; x < band.size().width_px; x += kTilePx) {
    const int width = std::min(kTilePx, band.size().width_px - x);
    std::vector<PlaneView> part;
    for (const PlaneView& channel : band.channels)
      part.push_back(channel.crop({x, 0, x + width, channel.height_px}));
    tile.assign(row_samples * kTilePx, 0);
    for (int y = 0; y < band.size().height_px; ++y) {
      const std::span<std::uint16_t> row(tile.data() + static_cast<std::size_t>(y) * row_samples,
                                         static_cast<std::size_t>(width) * channels);
      clipped += encode_row(part, y, encoding, row);
    }
    errno = 0;
    TIFFWriteTile(tiff, tile.data(), static_cast<std::uint32_t>(x), static_cast<std::uint32_t>(y0),
                  0, 0);
  }
  return clipped;
}

// @param seen  without data: no alpha. Only pictures in rows have any.
Clipped write(const std::filesystem::path& path, const PictureBands& picture,
              const TiffLayout& layout, const Encoding& encoding, const Metadata& metadata,
              const PlaneView& seen) {
  check_bands(picture, encoding);
  const Alpha alpha = seen.data == nullptr ? Alpha::none : Alpha::last;
  AtomicFile file(path);
  Trouble trouble;
  errno = 0;
  TiffPointer tiff = open_for_writing(file.descriptor(), layout, trouble);
  if (!tiff) throw cannot_write(path, errno);
  set_layout(tiff.get(), picture, layout, alpha);
  set_texts(tiff.get(), metadata, encoding);
  set_profile(tiff.get(), metadata, picture);

  Clipped clipped;
  const int height = picture.size.height_px;
  Strips strips(tiff.get(), static_cast<std::size_t>(picture.size.width_px) *
                                (picture.channels + (alpha == Alpha::last ? 1 : 0)));
  for (int y = 0; y < height && !trouble.happened; y += kBandRows) {
    const PictureView band = picture.rows(y, std::min(y + kBandRows, height));
    clipped += layout.tiled ? write_tiles(tiff.get(), band, y, encoding)
                            : write_rows(band, y, height, encoding, seen, strips);
  }
  if (!trouble.happened) TIFFWriteDirectory(tiff.get());
  tiff.reset();
  if (trouble.happened) throw cannot_write(path, trouble.error_number);
  file.commit();
  return clipped;
}

}  // namespace

TiffLayout tiff_layout(Size size, std::size_t channels) {
  const auto px = static_cast<double>(size.area_px());
  const double bytes = px * static_cast<double>(channels) * sizeof(std::uint16_t);
  return {size.area_px() >= kTiledFromPx, bytes * kMayGrow > kMostPlainBytes};
}

Clipped write_tiff16(const std::filesystem::path& path, const PictureView& picture,
                     const Encoding& encoding, const Metadata& metadata) {
  return write_tiff16_bands(path, bands_of(picture, encoding),
                            tiff_layout(picture.size(), picture.channels.size()), encoding,
                            metadata);
}

Clipped write_tiff16_bands(const std::filesystem::path& path, const PictureBands& picture,
                           const TiffLayout& layout, const Encoding& encoding,
                           const Metadata& metadata) {
  return write(path, picture, layout, encoding, metadata, {});
}

Clipped write_tiff16_alpha(const std::filesystem::path& path, const PictureView& picture,
                           const Encoding& encoding, const Metadata& metadata,
                           const PlaneView& seen) {
  LULL_ASSERT(seen.size() == picture.size());
  const bool big = tiff_layout(picture.size(), picture.channels.size() + 1).big;
  return write(path, bands_of(picture, encoding), {.tiled = false, .big = big}, encoding, metadata,
               seen);
}

}  // namespace lull::files
