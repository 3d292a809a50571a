#include "judge/comparison.h"

#include <fmt/format.h>
#include <png.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <span>

#include "core/error.h"
#include "core/statistics.h"
#include "files/atomic_file.h"

namespace lull::judge {

namespace {

constexpr int kGapPx = 4;
constexpr double kMidGrey = 127.5;
constexpr double kClippedShare = 0.01;

/// Pixels of the PNG, channels interleaved, black at first.
struct Canvas {
  int width_px = 0;
  int height_px = 0;
  std::size_t channels = 1;
  std::vector<std::uint8_t> bytes;

  Canvas(int width, int height, std::size_t channel_count)
      : width_px(width),
        height_px(height),
        channels(channel_count),
        bytes(static_cast<std::size_t>(width) * static_cast<std::size_t>(height) * channel_count) {}

  void set(int x, int y, std::size_t channel, double level) {
    const auto pixel = static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px) +
                       static_cast<std::size_t>(x);
    bytes[pixel * channels + channel] =
        static_cast<std::uint8_t>(std::lround(std::clamp(level, 0.0, 255.0)));
  }
};

Range range_of_truth(const Verdict& verdict) {
  Range range = range_of(verdict.channels.front().truth);
  for (const ChannelVerdict& channel : verdict.channels) {
    const Range own = range_of(channel.truth);
    range = {std::min(range.lowest, own.lowest), std::max(range.highest, own.highest)};
  }
  return range;
}

double amplification(const Verdict& verdict, double levels_per_unit) {
  std::vector<double> levels;
  for (const ChannelVerdict& channel : verdict.channels) {
    for (const double error : difference(channel.fitted, channel.truth).samples) {
      levels.push_back(std::abs(error) * levels_per_unit);
    }
  }
  const double high = quantile(levels, 1 - kClippedShare);
  double factor = 1;
  for (const double larger : {2, 5, 10, 20, 50, 100, 200, 500, 1000}) {
    if (larger * high <= kMidGrey) factor = larger;
  }
  return factor;
}

void write_png(const std::filesystem::path& path, const Canvas& canvas) {
  png_image image = {};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(canvas.width_px);
  image.height = static_cast<png_uint_32>(canvas.height_px);
  image.format = canvas.channels == 3 ? PNG_FORMAT_RGB : PNG_FORMAT_GRAY;
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
  std::vector<std::byte> file(size);
  if (png_image_write_to_memory(&image, file.data(), &size, 0, canvas.bytes.data(), 0, nullptr) ==
      0) {
    throw OutputError(fmt::format("cannot write '{}': {}", path.string(),
                                  std::string(std::begin(image.message))));
  }
  files::AtomicFile target(path);
  target.write(std::span<const std::byte>(file.data(), size));
  target.commit();
}

}  // namespace

double write_comparison(const std::filesystem::path& path, const Verdict& verdict) {
  const Size size = verdict.channels.front().truth.size();
  const Range range = range_of_truth(verdict);
  const double levels_per_unit = 255 / std::max(range.highest - range.lowest, 1e-300);
  const double factor = amplification(verdict, levels_per_unit);
  const int second = size.width_px + kGapPx;
  const int third = 2 * second;
  Canvas canvas(third + size.width_px, size.height_px, verdict.channels.size());
  for (std::size_t c = 0; c < verdict.channels.size(); ++c) {
    const ChannelVerdict& channel = verdict.channels[c];
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const double truth = channel.truth.at(x, y);
        const double fitted = channel.fitted.at(x, y);
        canvas.set(x, y, c, (truth - range.lowest) * levels_per_unit);
        canvas.set(second + x, y, c, (fitted - range.lowest) * levels_per_unit);
        canvas.set(third + x, y, c, kMidGrey + (fitted - truth) * levels_per_unit * factor);
      }
    }
  }
  write_png(path, canvas);
  return factor;
}

}  // namespace lull::judge
