#pragma once

#include <fitsio.h>

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "capture/frame.h"
#include "core/utc.h"
#include "files/fits_pointer.h"

namespace lull::capture {

/// How the values of a FITS image are kept on the disk.
enum class FitsKind {
  bytes,   ///< unsigned, 8 bit
  words,   ///< unsigned, 16 bit
  others,  ///< signed, floating point, wider or scaled: see fits_values.h
};

/// Header of a FITS image.
struct FitsHeader {
  Size size;
  int planes = 1;                 ///< 3: red, green and blue, each a plane (third axis of length 3)
  std::int64_t frames = 1;        ///< that the header promises
  std::int64_t whole_frames = 1;  ///< that are there
  FitsKind kind = FitsKind::words;
  bool from_bottom = false;  ///< ROWORDER: the first row is the lowest
  Cfa cfa = Cfa::none;       ///< BAYERPAT, common practice
  std::optional<Utc> date;   ///< DATE-OBS, if TIMESYS is UTC (FITS Standard 4.0, section 9)
  double exposure_s = 0;     ///< EXPTIME or EXPOSURE, common practice; 0: not stated
  std::string mismatch;      ///< a doubt about it, in words for the user

  /// Samples of a frame.
  [[nodiscard]] std::int64_t samples() const { return size.area_px() * planes; }
};

/// The first image of a FITS file, opened read-only: a picture, or a cube whose last axis counts
/// frames. Rows come from the top down.
class FitsImage {
 public:
  /// @throws InputError: no image in it, a number of axes or a size that no capture has.
  explicit FitsImage(const std::string& path);

  [[nodiscard]] const FitsHeader& header() const { return header_; }

  /// Reads a frame plane by plane, without BSCALE and BZERO left to apply. `into` has
  /// header().samples() elements. @return false if it is damaged.
  /// @throws files::ReadError if the disk fails.
  [[nodiscard]] bool read(std::int64_t frame, std::span<std::uint8_t> into);
  [[nodiscard]] bool read(std::int64_t frame, std::span<std::uint16_t> into);
  [[nodiscard]] bool read(std::int64_t frame, std::span<float> into);

 private:
  void read_header(const std::string& path);
  void read_axes(const std::string& path);
  void count_whole_frames(const std::string& path, int bitpix);
  [[nodiscard]] std::string text_of(const char* key);
  template <class T>
  [[nodiscard]] bool read_as(int type, std::int64_t frame, std::span<T> into);

  std::string path_;
  files::FitsPointer file_;
  FitsHeader header_;
};

}  // namespace lull::capture
