#include "judge/support.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace lull::test {

judge::Image noise(Size size, double sigma, std::uint32_t seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> value(0, sigma);
  judge::Image image(size);
  for (double& sample : image.samples) sample = value(random);
  return image;
}

judge::Image sum(const judge::Image& a, const judge::Image& b) {
  judge::Image result = a;
  for (std::size_t i = 0; i < result.count(); ++i) result.samples[i] += b.samples[i];
  return result;
}

double largest_difference(const judge::Image& a, const judge::Image& b) {
  REQUIRE(a.size() == b.size());
  const judge::Range range = judge::range_of(judge::difference(a, b));
  return std::max(std::abs(range.lowest), std::abs(range.highest));
}

const judge::Truth& highland() {
  static const judge::Truth truth = judge::read_truth(LULL_SAMPLES "/highland.truth.fits");
  return truth;
}

judge::Image highland_picture() {
  return displaced_highland([](int, int) { return Displacement{}; });
}

judge::Image displaced_highland(const std::function<Displacement(int, int)>& displacement) {
  const judge::Truth& truth = highland();
  const Size size = truth.mean.size();
  judge::Image image(size.width_px - 2 * truth.rim_px, size.height_px - 2 * truth.rim_px);
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      const Displacement d = displacement(x, y);
      image.at(x, y) = truth.mean.at(x + truth.rim_px - d.x_px, y + truth.rim_px - d.y_px);
    }
  }
  return image;
}

files::Picture picture_of(const std::vector<judge::Image>& channels) {
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

}  // namespace lull::test
