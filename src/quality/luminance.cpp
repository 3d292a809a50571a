#include "quality/luminance.h"

#include <algorithm>
#include <cstdlib>

namespace lull::quality {

namespace {

// Mirrors coordinates at the borders without repeating the edge, which keeps the colour of a
// 2 x 2 mosaic in step.
int mirrored(int i, int length) {
  if (length == 1) return 0;
  i = std::abs(i);
  return i < length ? i : 2 * (length - 1) - i;
}

template <class T>
void smooth_mosaic(SampleView mosaic, std::uint16_t* out) {
  const int width = mosaic.width_px;
  const int height = mosaic.height_px;
  // One mirrored column on either side.
  std::vector<std::uint32_t> column(static_cast<std::size_t>(width) + 2);
  // 8-bit sums keep all 4 extra bits; 16-bit ones are rounded back to 16.
  constexpr bool kKeepBits = sizeof(T) == 1;
  for (int y = 0; y < height; ++y) {
    const T* up = mosaic.row<T>(mirrored(y - 1, height));
    const T* mid = mosaic.row<T>(y);
    const T* down = mosaic.row<T>(mirrored(y + 1, height));
    for (int x = -1; x <= width; ++x) {
      const int at = mirrored(x, width);
      column[static_cast<std::size_t>(std::ptrdiff_t{x} + 1)] =
          static_cast<std::uint32_t>(up[at]) + 2U * mid[at] + static_cast<std::uint32_t>(down[at]);
    }
    std::uint16_t* to = out + static_cast<std::ptrdiff_t>(y) * width;
    for (int x = 0; x < width; ++x) {
      const std::uint32_t* around = column.data() + x;
      const std::uint32_t sum = around[0] + 2U * around[1] + around[2];
      to[x] = static_cast<std::uint16_t>(kKeepBits ? sum : (sum + 8) / 16);
    }
  }
}

template <class T>
void weigh_channels(const capture::Frame& frame, std::uint16_t* out) {
  const int width = frame.size().width_px;
  for (int y = 0; y < frame.size().height_px; ++y) {
    const T* red = frame.planes[0].row<T>(y);
    const T* green = frame.planes[1].row<T>(y);
    const T* blue = frame.planes[2].row<T>(y);
    std::uint16_t* to = out + static_cast<std::ptrdiff_t>(y) * width;
    for (int x = 0; x < width; ++x) {
      const std::uint32_t sum = static_cast<std::uint32_t>(red[x]) + 2U * green[x] + blue[x];
      // 8-bit sums keep their 2 extra bits.
      to[x] = static_cast<std::uint16_t>(sizeof(T) == 1 ? sum : (sum + 2) / 4);
    }
  }
}

Luminance from_buffer(const capture::Frame& frame, const capture::CaptureInfo& info,
                      const LuminanceBuffer& buffer, double gain) {
  const Size size = frame.size();
  Luminance result;
  result.view = {reinterpret_cast<const std::byte*>(buffer.data()), size.width_px, size.height_px,
                 static_cast<std::ptrdiff_t>(size.width_px) * 2, SampleType::u16};
  result.scale = {info.scale.black * gain, info.scale.per_unit / gain};
  result.full_scale = info.full_scale * gain;
  return result;
}

}  // namespace

Luminance luminance(const capture::Frame& frame, const capture::CaptureInfo& info,
                    LuminanceBuffer& buffer) {
  if (info.colour != capture::Colour::cfa && info.colour != capture::Colour::rgb) {
    return {frame.planes[0], info.scale, info.full_scale};
  }
  buffer.resize(static_cast<std::size_t>(frame.size().area_px()));
  const bool bytes = frame.planes[0].type == SampleType::u8;
  if (info.colour == capture::Colour::cfa) {
    bytes ? smooth_mosaic<std::uint8_t>(frame.planes[0], buffer.data())
          : smooth_mosaic<std::uint16_t>(frame.planes[0], buffer.data());
    return from_buffer(frame, info, buffer, bytes ? 16.0 : 1.0);
  }
  bytes ? weigh_channels<std::uint8_t>(frame, buffer.data())
        : weigh_channels<std::uint16_t>(frame, buffer.data());
  return from_buffer(frame, info, buffer, bytes ? 4.0 : 1.0);
}

}  // namespace lull::quality
