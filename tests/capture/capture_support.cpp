#include "capture/capture_support.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <memory>
#include <random>
#include <span>

#include "core/error.h"
#include "support/video.h"

namespace lull::test {

namespace fs = std::filesystem;

TempFolder::TempFolder() {
  std::string name = (fs::temp_directory_path() / "lull_capture_XXXXXX").string();
  REQUIRE(::mkdtemp(name.data()) != nullptr);
  path_ = name;
}

TempFolder::~TempFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

Bytes read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  REQUIRE(in.good());
  Bytes bytes(static_cast<std::size_t>(fs::file_size(path)));
  in.read(reinterpret_cast<char*>(bytes.data()), static_cast<std::streamsize>(bytes.size()));
  return bytes;
}

void write_file(const std::string& path, const Bytes& bytes) {
  std::ofstream out(path, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
  REQUIRE(out.good());
}

void put_integer(Bytes& bytes, std::size_t at, std::int32_t value) {
  REQUIRE(at + 4 <= bytes.size());
  std::memcpy(bytes.data() + at, &value, 4);
}

std::size_t find_text(const Bytes& bytes, const std::string& text, std::size_t from) {
  const auto wanted = std::as_bytes(std::span(text));
  const auto found = std::search(bytes.begin() + static_cast<std::ptrdiff_t>(from), bytes.end(),
                                 wanted.begin(), wanted.end());
  if (found == bytes.end()) return SIZE_MAX;
  return static_cast<std::size_t>(found - bytes.begin());
}

namespace {

/// Light in [0, 1] of a disc that moves, with noise.
[[nodiscard]] std::vector<double> scene(int index, std::size_t samples, int width_px) {
  std::mt19937 random(static_cast<unsigned>(7000 + index));
  std::normal_distribution<double> noise(0.0, 0.01);
  std::vector<double> light(samples);
  const double height = static_cast<double>(samples) / width_px;
  const double centre_x = 0.5 * width_px + 3 * std::sin(index * 0.7);
  const double centre_y = 0.5 * height + 3 * std::cos(index * 0.9);
  const double radius = 0.3 * std::min<double>(width_px, height);
  for (std::size_t i = 0; i < samples; ++i) {
    const double x = static_cast<double>(i % static_cast<std::size_t>(width_px)) - centre_x;
    const double y = static_cast<double>(i / static_cast<std::size_t>(width_px)) - centre_y;
    const double edge = 1.0 / (1.0 + std::exp(std::hypot(x, y) - radius));
    light[i] = std::clamp(0.05 + 0.8 * edge + noise(random), 0.0, 1.0);
  }
  return light;
}

}  // namespace

std::vector<Bytes> pictures_8(int count, std::size_t bytes, int width_px) {
  std::vector<Bytes> pictures;
  for (int i = 0; i < count; ++i) {
    std::vector<std::uint8_t> samples;
    for (const double light : scene(i, bytes, width_px)) {
      samples.push_back(static_cast<std::uint8_t>(std::lround(255 * light)));
    }
    pictures.push_back(bytes_of(samples));
  }
  return pictures;
}

std::vector<Bytes> pictures_16(int count, std::size_t samples, int width_px, int bits, int shift) {
  std::vector<Bytes> pictures;
  const int top = (1 << bits) - 1;
  for (int i = 0; i < count; ++i) {
    std::vector<std::uint16_t> words;
    for (const double light : scene(i, samples, width_px)) {
      words.push_back(static_cast<std::uint16_t>(std::lround(top * light) << shift));
    }
    pictures.push_back(bytes_of(words));
  }
  return pictures;
}

Bytes samples_of(const capture::Frame& frame) {
  Bytes bytes;
  std::vector<SampleView> planes(frame.planes.begin(), frame.planes.begin() + frame.plane_count);
  if (frame.chroma[0].data != nullptr)
    planes.insert(planes.end(), frame.chroma.begin(), frame.chroma.end());
  for (const SampleView& plane : planes) {
    const auto row_bytes =
        static_cast<std::ptrdiff_t>(plane.width_px) * (plane.type == SampleType::u8 ? 1 : 2);
    for (int y = 0; y < plane.height_px; ++y) {
      const std::byte* row = plane.data + y * plane.stride_bytes;
      bytes.insert(bytes.end(), row, row + row_bytes);
    }
  }
  return bytes;
}

std::vector<Bytes> all_frames(capture::Capture& capture) {
  std::vector<Bytes> frames;
  while (true) {
    auto outcome = capture.next();
    if (!outcome.ok() && outcome.reason() == Reject::past_the_end) return frames;
    frames.push_back(outcome.ok() ? samples_of(outcome.value()) : Bytes{});
    if (outcome.ok()) CHECK(outcome.value().index == static_cast<FrameIndex>(frames.size()) - 1);
  }
}

std::optional<std::vector<Bytes>> decoded_by_ffmpeg(const std::string& path,
                                                    const std::string& pixel_format,
                                                    std::size_t picture_bytes) {
  if (std::system("ffmpeg -version >/dev/null 2>&1") != 0) {
    MESSAGE("the ffmpeg program is not installed: its decode is not compared with");
    return std::nullopt;
  }
  const std::string command = "ffmpeg -v quiet -nostdin -i 'file:" + path +
                              "' -vsync passthrough -f rawvideo -pix_fmt " + pixel_format + " -";
  const std::unique_ptr<FILE, int (*)(FILE*)> pipe(::popen(command.c_str(), "r"), ::pclose);
  REQUIRE(pipe);
  Bytes all;
  std::array<std::byte, 65536> part{};
  while (const std::size_t got = std::fread(part.data(), 1, part.size(), pipe.get())) {
    all.insert(all.end(), part.begin(), part.begin() + static_cast<std::ptrdiff_t>(got));
  }
  REQUIRE(all.size() % picture_bytes == 0);
  std::vector<Bytes> pictures;
  for (auto at = all.begin(); at != all.end(); at += static_cast<std::ptrdiff_t>(picture_bytes)) {
    pictures.emplace_back(at, at + static_cast<std::ptrdiff_t>(picture_bytes));
  }
  return pictures;
}

std::string refusal_of(const std::string& path) {
  try {
    static_cast<void>(capture::Capture::open(path));
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

}  // namespace lull::test
