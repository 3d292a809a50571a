#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <tiffio.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <memory>

#include "files/atomic_file.h"
#include "files/failure.h"
#include "files/icc.h"
#include "files/tiff.h"

namespace lull::files {

namespace {

constexpr std::size_t kStripBytes = std::size_t{1} << 20U;

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
TiffPointer open_for_writing(int descriptor, Trouble& trouble) {
  const std::unique_ptr<TIFFOpenOptions, Close> options(TIFFOpenOptionsAlloc());
  TIFFOpenOptionsSetErrorHandlerExtR(options.get(), note_error, &trouble);
  TIFFOpenOptionsSetWarningHandlerExtR(options.get(), ignore_warning, nullptr);
  const int own = ::fcntl(descriptor, F_DUPFD_CLOEXEC, 0);
  TiffPointer tiff(TIFFFdOpenExt(own, "picture", "w", options.get()));
  if (!tiff && own >= 0) ::close(own);
  return tiff;
}

void set_layout(TIFF* tiff, const PictureView& picture) {
  const auto width = static_cast<std::uint32_t>(picture.size().width_px);
  const auto height = static_cast<std::uint32_t>(picture.size().height_px);
  const auto channels = static_cast<unsigned>(picture.channels.size());
  const std::size_t row_bytes = std::max<std::size_t>(std::size_t{2} * width * channels, 1);
  const auto strip_rows = static_cast<std::uint32_t>(
      std::clamp<std::size_t>(kStripBytes / row_bytes, 1, std::max(height, 1U)));
  TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
  TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
  TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 16U);
  TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, channels);
  TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, unsigned{SAMPLEFORMAT_UINT});
  TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC,
               channels == 3 ? unsigned{PHOTOMETRIC_RGB} : unsigned{PHOTOMETRIC_MINISBLACK});
  TIFFSetField(tiff, TIFFTAG_PLANARCONFIG, unsigned{PLANARCONFIG_CONTIG});
  TIFFSetField(tiff, TIFFTAG_ORIENTATION, unsigned{ORIENTATION_TOPLEFT});
  TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, strip_rows);
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

void set_profile(TIFF* tiff, const Metadata& metadata, const PictureView& picture) {
  if (metadata.transfer == Transfer::linear) return;
  const auto profile = srgb_profile(static_cast<int>(picture.channels.size()));
  TIFFSetField(tiff, TIFFTAG_ICCPROFILE, static_cast<std::uint32_t>(profile.size()),
               profile.data());
}

}  // namespace

Clipped write_tiff16(const std::filesystem::path& path, const PictureView& picture,
                     const Encoding& encoding, const Metadata& metadata) {
  check_picture(picture, encoding);
  AtomicFile file(path);
  Trouble trouble;
  errno = 0;
  TiffPointer tiff = open_for_writing(file.descriptor(), trouble);
  if (!tiff) throw cannot_write(path, errno);
  set_layout(tiff.get(), picture);
  set_texts(tiff.get(), metadata, encoding);
  set_profile(tiff.get(), metadata, picture);

  Clipped clipped;
  const auto width = static_cast<std::size_t>(picture.size().width_px);
  std::vector<std::uint16_t> row(width * picture.channels.size());
  for (int y = 0; y < picture.size().height_px && !trouble.happened; ++y) {
    clipped += encode_row(picture.channels, y, encoding, row);
    errno = 0;
    // The predictor changes the row in place; it is filled anew for the next one.
    TIFFWriteScanline(tiff.get(), row.data(), static_cast<std::uint32_t>(y), 0);
  }
  if (!trouble.happened) TIFFWriteDirectory(tiff.get());
  tiff.reset();
  if (trouble.happened) throw cannot_write(path, trouble.error_number);
  file.commit();
  return clipped;
}

}  // namespace lull::files
