#include "report/bitmap_file.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

namespace {

using namespace lull;
using namespace lull::report;

std::string encoded(const std::string& text) {
  return base64({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

Bitmap pattern(int width, int height, int channels) {
  Bitmap out{width, height, channels, {}};
  unsigned state = 1;
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      for (int c = 0; c < channels; ++c) {
        state = state * 1664525U + 1013904223U;
        out.samples.push_back(static_cast<std::uint8_t>(
            static_cast<unsigned>(x * 2 + y + 40 * c + static_cast<int>(state >> 29U)) & 255U));
      }
    }
  }
  return out;
}

// What OpenCV reads from the file, against the bitmap: the largest and the mean difference.
bool agrees(const std::vector<std::uint8_t>& file, const char* ending, const Bitmap& bitmap,
            double most, double mean) {
  const auto stem =
      (std::filesystem::temp_directory_path() / ("lull_bitmap_" + std::to_string(getpid())))
          .string();
  std::ofstream(stem + ending, std::ios::binary)
      .write(reinterpret_cast<const char*>(file.data()), static_cast<std::streamsize>(file.size()));
  std::ofstream(stem + ".raw", std::ios::binary)
      .write(reinterpret_cast<const char*>(bitmap.samples.data()),
             static_cast<std::streamsize>(bitmap.samples.size()));
  const std::string command =
      "/usr/bin/python3 " + std::string(LULL_TESTS) + "/report/bitmap_values.py " + stem + ending +
      " " + stem + ".raw " + std::to_string(bitmap.width_px) + " " +
      std::to_string(bitmap.height_px) + " " + std::to_string(bitmap.channels) + " " +
      std::to_string(most) + " " + std::to_string(mean);
  const bool good = std::system(command.c_str()) == 0;  // NOLINT: a fixed command of the test
  std::filesystem::remove(stem + ending);
  std::filesystem::remove(stem + ".raw");
  return good;
}

}  // namespace

TEST_SUITE("report/bitmap_file") {
  TEST_CASE("base64 as the test vectors of RFC 4648, section 10") {
    CHECK(encoded("").empty());
    CHECK(encoded("f") == "Zg==");
    CHECK(encoded("fo") == "Zm8=");
    CHECK(encoded("foo") == "Zm9v");
    CHECK(encoded("foob") == "Zm9vYg==");
    CHECK(encoded("fooba") == "Zm9vYmE=");
    CHECK(encoded("foobar") == "Zm9vYmFy");
  }

  TEST_CASE("OpenCV reads the same samples from PNG, and nearly the same from JPEG") {
    for (const int channels : {1, 3}) {
      CAPTURE(channels);
      const Bitmap bitmap = pattern(61, 37, channels);
      CHECK(agrees(png_of(bitmap), ".png", bitmap, 0, 0));
      // Quality 92 with full colour: the noise of 8 levels in the pattern is kept to about 3.
      CHECK(agrees(jpeg_of(bitmap, 92), ".jpg", bitmap, 60, 4));
    }
  }
}
