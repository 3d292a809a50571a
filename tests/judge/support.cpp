#include "judge/support.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <random>

#include "files/helpers.h"

namespace lull::judge::test {

Image noise(Size size, double sigma, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> value(0, sigma);
  Image image(size);
  for (double& sample : image.samples) sample = value(random);
  return image;
}

Image sum(const Image& a, const Image& b) {
  Image result = a;
  for (std::size_t i = 0; i < result.count(); ++i) result.samples[i] += b.samples[i];
  return result;
}

double largest_difference(const Image& a, const Image& b) {
  REQUIRE(a.size() == b.size());
  const Range range = range_of(difference(a, b));
  return std::max(std::abs(range.lowest), std::abs(range.highest));
}

const Truth& highland() {
  static const Truth truth = read_truth(LULL_SAMPLES "/highland.truth.fits");
  return truth;
}

Image highland_picture() {
  return displaced_highland([](int, int) { return Shift{}; });
}

Image displaced_highland(const std::function<Shift(int, int)>& displacement) {
  const Truth& truth = highland();
  const Size size = truth.mean.size();
  Image image(size.width_px - 2 * truth.rim_px, size.height_px - 2 * truth.rim_px);
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      const Shift d = displacement(x, y);
      image.at(x, y) = truth.mean.at(x + truth.rim_px - d.x_px, y + truth.rim_px - d.y_px);
    }
  }
  return image;
}

files::Picture picture_of(const std::vector<Image>& channels) {
  files::Picture picture =
      files::make_picture(channels.front().size(), static_cast<int>(channels.size()));
  for (std::size_t c = 0; c < channels.size(); ++c) {
    for (int y = 0; y < channels[c].height_px; ++y) {
      for (int x = 0; x < channels[c].width_px; ++x) {
        picture.channels[c].row(y)[x] = static_cast<float>(channels[c].at(x, y));
      }
    }
  }
  return picture;
}

std::optional<std::string> reference(const std::vector<std::string>& arguments) {
  // Debian's interpreter: the packages of tools/setup.sh belong to it.
  std::vector<std::string> words = {"/usr/bin/python3", LULL_TESTS "/judge/references.py"};
  words.insert(words.end(), arguments.begin(), arguments.end());
  const files::test::Ran ran = files::test::run(words);
  if (ran.status == 77 || ran.status == 127) {
    MESSAGE("skipped: " << ran.output);
    return std::nullopt;
  }
  CAPTURE(ran.output);
  REQUIRE(ran.status == 0);
  return ran.output;
}

void write_raw(const std::filesystem::path& path, const std::vector<double>& values) {
  std::ofstream file(path, std::ios::binary);
  file.write(reinterpret_cast<const char*>(values.data()),
             static_cast<std::streamsize>(values.size() * sizeof(double)));
  REQUIRE(file.good());
}

}  // namespace lull::judge::test
