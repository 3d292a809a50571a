#include "report/tone.h"

#include <algorithm>
#include <cmath>

#include "core/parallel.h"
#include "core/srgb.h"
#include "core/statistics.h"

namespace lull::report {

namespace {

constexpr double kDarkest = 0.002;
constexpr double kBrightest = 0.0002;
constexpr std::size_t kMostSamples = 1U << 20U;  // that levels are judged from
constexpr int kTableSteps = 1 << 16;             // a step is at most 0.05 of an 8-bit level

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

Levels levels_of(const files::PictureView& picture) {
  const Size size = picture.size();
  const auto total = static_cast<std::size_t>(size.area_px()) * picture.channels.size();
  const auto step = static_cast<int>(std::max<std::size_t>(
      1, static_cast<std::size_t>(std::ceil(
             std::sqrt(static_cast<double>(total) / static_cast<double>(kMostSamples))))));
  std::vector<float> values;
  for (const PlaneView& plane : picture.channels) {
    for (int y = 0; y < plane.height_px; y += step) {
      for (int x = 0; x < plane.width_px; x += step) values.push_back(plane.row(y)[x]);
    }
  }
  if (values.empty()) return {};
  const auto black = static_cast<double>(quantile(values, kDarkest));
  const Levels levels{black, static_cast<double>(quantile(std::move(values), 1 - kBrightest))};
  if (levels.white > levels.black) return levels;
  return {levels.black - 0.5, levels.black + 0.5};
}

std::uint8_t srgb_byte(double light) {
  return static_cast<std::uint8_t>(std::lround(255 * srgb::from_light(light)));
}

files::Bitmap toned(const files::PictureView& picture, const Levels& levels,
                    files::Transfer transfer, int reduction) {
  files::Bitmap out;
  out.width_px = std::max(1, picture.size().width_px / reduction);
  out.height_px = std::max(1, picture.size().height_px / reduction);
  out.channels = static_cast<int>(picture.channels.size());
  const std::size_t pitch =
      static_cast<std::size_t>(out.width_px) * static_cast<std::size_t>(out.channels);
  out.samples.resize(pitch * static_cast<std::size_t>(out.height_px));
  const std::vector<std::uint8_t> table = table_of(transfer);
  const double factor = kTableSteps / (levels.white - levels.black);
  parallel_for(out.height_px, [&](std::int64_t y) {
    std::uint8_t* to = out.samples.data() + pitch * static_cast<std::size_t>(y);
    for (int x = 0; x < out.width_px; ++x) {
      for (const PlaneView& plane : picture.channels) {
        const double light =
            mean_of(plane, x * reduction, static_cast<int>(y) * reduction, reduction);
        const double step =
            std::clamp((light - levels.black) * factor, 0.0, static_cast<double>(kTableSteps));
        *to++ = table[static_cast<std::size_t>(std::lround(step))];
      }
    }
  });
  return out;
}

}  // namespace lull::report
