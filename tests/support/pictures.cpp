#include "support/pictures.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <random>

namespace lull::test {

Run run_pictures(const std::vector<std::string>& arguments) {
  return run_python("support/pictures.py", arguments);
}

files::Picture seeded_picture(Size size, int channels, unsigned seed) {
  std::mt19937 generator(seed);
  std::uniform_real_distribution<float> value(-0.02F, 1.02F);
  files::Picture picture = files::make_picture(size, channels);
  for (Plane& channel : picture.channels) {
    for (int y = 0; y < size.height_px; ++y) {
      std::generate_n(channel.row(y), size.width_px, [&] { return value(generator); });
    }
  }
  return picture;
}

std::vector<float> samples_of(const files::Picture& picture) {
  std::vector<float> samples;
  for (int y = 0; y < picture.size().height_px; ++y) {
    for (int x = 0; x < picture.size().width_px; ++x) {
      for (const Plane& channel : picture.channels) samples.push_back(channel.row(y)[x]);
    }
  }
  return samples;
}

std::vector<std::uint16_t> encoded_samples_of(const files::Picture& picture,
                                              const files::Encoding& encoding) {
  std::vector<std::uint16_t> encoded;
  for (const float sample : samples_of(picture)) {
    const double part =
        (static_cast<double>(sample) - encoding.black) / (encoding.white - encoding.black);
    encoded.push_back(
        static_cast<std::uint16_t>(std::lround(std::clamp(part, 0.0, 1.0) * 65535.0)));
  }
  return encoded;
}

files::Metadata sample_metadata() {
  files::Metadata metadata;
  metadata.description = "Crater field at the terminator\nstacked from 300 of 2000 frames";
  metadata.cards = {{"KEPT", std::int64_t{300}, "frames in the stack"},
                    {"NOISE", 0.00125, "standard deviation, full scale = 1"},
                    {"DRIZZLED", false, "resampled to a finer grid"},
                    {"CAPTURE", std::string("highland.mkv"), "source"}};
  metadata.date = std::chrono::sys_days{std::chrono::year{2026} / 3 / 5} + std::chrono::hours{21};
  return metadata;
}

}  // namespace lull::test
