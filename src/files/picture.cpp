#include "files/picture.h"

#include <fmt/format.h>

#include <cmath>

#include "core/error.h"

namespace lull::files {

namespace {

constexpr double kTop = 65535.0;

std::uint16_t encode(double units, Clipped& clipped) {
  if (!(units > -0.5)) {  // written so that NaN ends here
    ++clipped.below;
    return 0;
  }
  if (units >= kTop + 0.5) {
    ++clipped.above;
    return 65535;
  }
  return static_cast<std::uint16_t>(std::lround(units));
}

}  // namespace

PictureView Picture::view() const {
  PictureView result;
  for (const Plane& channel : channels) result.channels.push_back(channel.view());
  return result;
}

Picture make_picture(Size size, int channels) {
  Picture picture;
  for (int c = 0; c < channels; ++c) picture.channels.push_back(Plane(size));
  return picture;
}

void check_picture(const PictureView& picture, const Encoding& encoding) {
  LULL_ASSERT(picture.channels.size() == 1 || picture.channels.size() == 3);
  const Size size = picture.size();
  for ([[maybe_unused]] const PlaneView& channel : picture.channels) {
    LULL_ASSERT(channel.size() == size);
  }
  check_written(size, kMaxPicturePx, encoding);
}

void check_written(Size size, std::int64_t most_px, const Encoding& encoding) {
  if (size.area_px() <= 0 || size.area_px() > most_px) {
    throw OutputError(fmt::format(
        "cannot write a picture of {} x {} pixels: between 1 and {} million are possible; choose "
        "a smaller scale",
        size.width_px, size.height_px, most_px / 1'000'000));
  }
  if (!(encoding.black < encoding.white)) {
    throw UsageError(fmt::format("the black point {} must be below the white point {}",
                                 encoding.black, encoding.white));
  }
}

Clipped encode_row(std::span<const PlaneView> channels, int y, const Encoding& encoding,
                   std::span<std::uint16_t> out) {
  LULL_ASSERT(encoding.black < encoding.white);
  const double units_per_light = kTop / (encoding.white - encoding.black);
  const std::size_t step = channels.size();
  Clipped clipped;
  for (std::size_t c = 0; c < step; ++c) {
    const float* in = channels[c].row(y);
    const auto width = static_cast<std::size_t>(channels[c].width_px);
    LULL_ASSERT(out.size() == width * step);
    for (std::size_t x = 0; x < width; ++x) {
      const double light = static_cast<double>(in[x]);
      out[x * step + c] = encode((light - encoding.black) * units_per_light, clipped);
    }
  }
  return clipped;
}

}  // namespace lull::files
