#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "core/plane.h"

namespace lull::files {

/// No picture in memory may have more pixels: far above any camera at three times its scale, and
/// low enough that a damaged header cannot ask for all memory. Larger ones: files/picture_bands.h.
inline constexpr std::int64_t kMaxPicturePx = 250'000'000;

/// Read-only view of a picture: 1 channel (grey) or 3 (red, green, blue), all of one size.
struct PictureView {
  std::vector<PlaneView> channels;

  [[nodiscard]] Size size() const { return channels.empty() ? Size{} : channels.front().size(); }
};

/// A picture: 1 channel (grey) or 3 (red, green, blue), all of one size.
struct Picture {
  std::vector<Plane> channels;

  [[nodiscard]] Size size() const { return channels.empty() ? Size{} : channels.front().size(); }

  [[nodiscard]] PictureView view() const;
};

/// All samples zero.
[[nodiscard]] Picture make_picture(Size size, int channels);

/// How values become 16-bit integers: `black` maps to 0, `white` to 65535, linearly, rounded to
/// nearest; values outside are clamped. black < white.
struct Encoding {
  double black = 0;
  double white = 1;
};

/// Samples (not pixels) that an encoding had to clamp by more than rounding does.
struct Clipped {
  std::int64_t below = 0;  ///< under black; samples that are not numbers count here
  std::int64_t above = 0;  ///< over white

  Clipped& operator+=(const Clipped& other) {
    below += other.below;
    above += other.above;
    return *this;
  }

  friend bool operator==(const Clipped&, const Clipped&) = default;
};

/// Before writing. @throws OutputError when the picture has more than kMaxPicturePx or no pixels,
/// UsageError when black is not below white. Channels must be 1 or 3, of one size.
void check_picture(const PictureView& picture, const Encoding& encoding);

/// The same for a size and a limit of its own.
void check_written(Size size, std::int64_t most_px, const Encoding& encoding);

/// Row y, channels interleaved (all of pixel 0, then pixel 1, ...). `out` holds width x channels.
Clipped encode_row(std::span<const PlaneView> channels, int y, const Encoding& encoding,
                   std::span<std::uint16_t> out);

}  // namespace lull::files
