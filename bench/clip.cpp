#include <fmt/format.h>

#include <cstdio>
#include <memory>
#include <random>
#include <stdexcept>

#include "bench.h"
#include "capture/capture.h"

namespace lull::bench {

namespace {

struct ClosePipe {
  void operator()(std::FILE* pipe) const { pclose(pipe); }
};

// Where a sample beyond the end of a row or column comes from.
int mirrored(int at, int length) {
  const int within = at % (2 * length);
  return within < length ? within : 2 * length - 1 - within;
}

std::vector<std::uint8_t> enlarged(SampleView frame, Size size) {
  std::vector<std::uint8_t> out;
  out.reserve(static_cast<std::size_t>(size.area_px()));
  for (int y = 0; y < size.height_px; ++y) {
    const auto* row = frame.row<std::uint8_t>(mirrored(y, frame.height_px));
    for (int x = 0; x < size.width_px; ++x) out.push_back(row[mirrored(x, frame.width_px)]);
  }
  return out;
}

}  // namespace

void write_clip(const std::string& path, int frames, Size size) {
  const bool lossless = path.ends_with(".mkv");
  const std::string command = fmt::format(
      "ffmpeg -v error -y -f rawvideo -pix_fmt gray -s {}x{} -r 100 -i - {} '{}'", size.width_px,
      size.height_px, lossless ? "-c:v ffv1 -level 3 -g 1 -slices 4 -slicecrc 1" : "-c:v rawvideo",
      path);
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
    auto picture = enlarged(frame.value().planes[0], size);
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
