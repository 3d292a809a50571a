#include "judge/image.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numeric>

namespace lull::judge {

Image image_of(PlaneView plane) {
  Image image(plane.size());
  for (int y = 0; y < plane.height_px; ++y) {
    for (int x = 0; x < plane.width_px; ++x) image.at(x, y) = static_cast<double>(plane.at(x, y));
  }
  return image;
}

Image crop(const Image& image, const Box& box) {
  Image part(box.width_px(), box.height_px());
  for (int y = 0; y < part.height_px; ++y) {
    for (int x = 0; x < part.width_px; ++x) part.at(x, y) = image.at(x + box.x0, y + box.y0);
  }
  return part;
}

Image mean_of(const std::vector<Image>& channels) {
  Image result(channels.front().size());
  for (std::size_t i = 0; i < result.count(); ++i) {
    double sum = 0;
    for (const Image& channel : channels) sum += channel.samples[i];
    result.samples[i] = sum / static_cast<double>(channels.size());
  }
  return result;
}

Image difference(const Image& a, const Image& b) {
  Image result(a.size());
  std::transform(a.samples.begin(), a.samples.end(), b.samples.begin(), result.samples.begin(),
                 std::minus<>());
  return result;
}

Image product(const Image& a, const Image& b) {
  Image result(a.size());
  std::transform(a.samples.begin(), a.samples.end(), b.samples.begin(), result.samples.begin(),
                 std::multiplies<>());
  return result;
}

double mean(const Image& image) {
  return std::accumulate(image.samples.begin(), image.samples.end(), 0.0) /
         static_cast<double>(image.count());
}

Range range_of(const Image& image) {
  const auto [lowest, highest] = std::minmax_element(image.samples.begin(), image.samples.end());
  return {*lowest, *highest};
}

Gradient gradient_of(const Image& image) {
  Gradient gradient = {Image(image.size()), Image(image.size())};
  for (int y = 0; y < image.height_px; ++y) {
    const int up = std::max(y - 1, 0);
    const int down = std::min(y + 1, image.height_px - 1);
    for (int x = 0; x < image.width_px; ++x) {
      const int left = std::max(x - 1, 0);
      const int right = std::min(x + 1, image.width_px - 1);
      gradient.x.at(x, y) = (image.at(right, y) - image.at(left, y)) / (right - left);
      gradient.y.at(x, y) = (image.at(x, down) - image.at(x, up)) / (down - up);
    }
  }
  return gradient;
}

}  // namespace lull::judge
