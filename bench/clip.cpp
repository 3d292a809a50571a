#include <fmt/format.h>

#include <cstdio>
#include <memory>
#include <random>
#include <stdexcept>

#include "bench.h"
#include "capture/capture.h"

namespace lull::bench {

namespace {

constexpr int kWidth = 640;
constexpr int kHeight = 480;

struct ClosePipe {
  void operator()(std::FILE* pipe) const { pclose(pipe); }
};

// The frame in the upper left quarter, mirrored into the others.
std::vector<std::uint8_t> mirrored(SampleView frame) {
  std::vector<std::uint8_t> out(static_cast<std::size_t>(kWidth) * kHeight);
  for (int y = 0; y < kHeight; ++y) {
    const int from_y = y < frame.height_px ? y : 2 * frame.height_px - 1 - y;
    const auto* row = frame.row<std::uint8_t>(from_y);
    for (int x = 0; x < kWidth; ++x) {
      const int from_x = x < frame.width_px ? x : 2 * frame.width_px - 1 - x;
      out[static_cast<std::size_t>(std::ptrdiff_t{y} * kWidth + x)] = row[from_x];
    }
  }
  return out;
}

}  // namespace

void write_clip(const std::string& path, int frames) {
  const bool lossless = path.ends_with(".mkv");
  const std::string command = fmt::format(
      "ffmpeg -v error -y -f rawvideo -pix_fmt gray -s {}x{} -r 100 -i - {} '{}'", kWidth, kHeight,
      lossless ? "-c:v ffv1 -level 3 -g 1 -slices 4 -slicecrc 1" : "-c:v rawvideo", path);
  const std::unique_ptr<std::FILE, ClosePipe> pipe(popen(command.c_str(), "w"));
  if (!pipe) throw std::runtime_error("ffmpeg cannot be started");
  const auto sample = capture::Capture::open(std::string(LULL_SAMPLES) + "/highland.mkv");
  std::mt19937 random(1);
  for (int i = 0; i < frames; ++i) {
    auto frame = sample->next();
    if (!frame.ok()) {
      sample->rewind();
      frame = sample->next();
    }
    if (!frame.ok()) throw std::runtime_error("the sample cannot be read");
    auto picture = mirrored(frame.value().planes[0]);
    for (auto& value : picture) {
      // Three bits of a generator, centred: noise of 2.3 levels.
      const int noisy = value + static_cast<int>(random() >> 29U) - 3;
      value = static_cast<std::uint8_t>(noisy < 0 ? 0 : noisy > 255 ? 255 : noisy);
    }
    if (std::fwrite(picture.data(), 1, picture.size(), pipe.get()) != picture.size()) {
      throw std::runtime_error("the clip cannot be written");
    }
  }
}

}  // namespace lull::bench
