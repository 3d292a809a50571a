#include "files/bitmap.h"

#include <doctest/doctest.h>

#include <span>
#include <string>
#include <vector>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull;
using namespace lull::files;

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
bool agrees(const test::Bytes& file, const char* ending, const Bitmap& bitmap, double most,
            double mean) {
  const test::TemporaryFolder folder;
  const std::string path = folder.file(std::string("bitmap") + ending);
  test::write_file(path, file);
  const auto raw = std::as_bytes(std::span(bitmap.samples));
  test::write_file(folder.file("raw"), {raw.begin(), raw.end()});
  const test::Run run = test::run_python(
      "files/bitmap_values.py",
      {path, folder.file("raw"), std::to_string(bitmap.width_px), std::to_string(bitmap.height_px),
       std::to_string(bitmap.channels), std::to_string(most), std::to_string(mean)});
  if (run.status != 0) MESSAGE(run.errors);
  return run.status == 0;
}

}  // namespace

TEST_SUITE("files/bitmap") {
  TEST_CASE("OpenCV reads the same samples from PNG, and nearly the same from JPEG") {
    for (const int channels : {1, 3}) {
      CAPTURE(channels);
      const Bitmap bitmap = pattern(61, 37, channels);
      CHECK(agrees(encode_png(bitmap), ".png", bitmap, 0, 0));
      // Quality 92 with full colour: the noise of 8 levels in the pattern is kept to about 3.
      CHECK(agrees(encode_jpeg(bitmap, 92), ".jpg", bitmap, 60, 4));
    }
  }
}
