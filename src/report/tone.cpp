#include "report/tone.h"

#include <algorithm>
#include <cmath>

#include "core/limit.h"
#include "core/parallel.h"
#include "core/srgb.h"

namespace lull::report {

namespace {

constexpr int kTableSteps = 1 << 16;  // a step is at most 0.05 of an 8-bit level

std::vector<std::uint8_t> table_of(files::Transfer transfer) {
  std::vector<std::uint8_t> table(kTableSteps + 1);
  for (int i = 0; i <= kTableSteps; ++i) {
    const double value = static_cast<double>(i) / kTableSteps;
    table[static_cast<std::size_t>(i)] = transfer == files::Transfer::linear
                                             ? srgb_byte(value)
                                             : static_cast<std::uint8_t>(std::lround(255 * value));
  }
  return table;
}

double mean_of(PlaneView plane, int x0, int y0, int side) {
  if (side == 1) return static_cast<double>(plane.row(y0)[x0]);
  double sum = 0;
  for (int y = y0; y < y0 + side; ++y) {
    for (int x = x0; x < x0 + side; ++x) sum += static_cast<double>(plane.row(y)[x]);
  }
  return sum / (side * side);
}

}  // namespace

std::uint8_t srgb_byte(double light) {
  return static_cast<std::uint8_t>(std::lround(255 * srgb::from_light(light)));
}

files::Bitmap toned(const files::PictureView& picture, const finish::Levels& levels,
                    files::Transfer transfer, int reduction) {
  files::Bitmap out;
  out.width_px = std::max(1, picture.size().width_px / reduction);
  out.height_px = std::max(1, picture.size().height_px / reduction);
  out.channels = static_cast<int>(picture.channels.size());
  const std::size_t pitch =
      static_cast<std::size_t>(out.width_px) * static_cast<std::size_t>(out.channels);
  out.samples.resize(pitch * static_cast<std::size_t>(out.height_px));
  const std::vector<std::uint8_t> table = table_of(transfer);
  parallel_for(out.height_px, [&](std::int64_t y) {
    std::uint8_t* to = out.samples.data() + pitch * static_cast<std::size_t>(y);
    std::vector<double> pixel(picture.channels.size());
    for (int x = 0; x < out.width_px; ++x) {
      for (std::size_t c = 0; c < pixel.size(); ++c) {
        pixel[c] =
            mean_of(picture.channels[c], x * reduction, static_cast<int>(y) * reduction, reduction);
      }
      finish::place_between(levels, pixel);
      for (const double value : pixel) {
        const double step = limited(kTableSteps * value, static_cast<double>(kTableSteps));
        *to++ = table[static_cast<std::size_t>(std::lround(step))];
      }
    }
  });
  return out;
}

}  // namespace lull::report
