#pragma once

#include <cstddef>
#include <vector>

#include "core/assert.h"
#include "core/geometry.h"
#include "core/plane.h"

namespace lull::judge {

/// Owner of H x W double samples, row-major without gaps. Double, because figures of 100 dB and
/// more are measured on it. Integer coordinate = pixel centre, +x right, +y down.
struct Image {
  int width_px = 0;
  int height_px = 0;
  std::vector<double> samples;

  Image() = default;

  /// All samples `value`. Sizes must be >= 0.
  Image(int width, int height, double value = 0)
      : width_px(width),
        height_px(height),
        samples(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), value) {}

  explicit Image(Size size, double value = 0) : Image(size.width_px, size.height_px, value) {}

  [[nodiscard]] Size size() const { return {width_px, height_px}; }

  [[nodiscard]] std::size_t count() const { return samples.size(); }

  [[nodiscard]] std::size_t index(int x, int y) const {
    LULL_ASSERT(x >= 0 && x < width_px && y >= 0 && y < height_px);
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(width_px) +
           static_cast<std::size_t>(x);
  }

  [[nodiscard]] double at(int x, int y) const { return samples[index(x, y)]; }

  [[nodiscard]] double& at(int x, int y) { return samples[index(x, y)]; }
};

[[nodiscard]] Image image_of(PlaneView plane);

[[nodiscard]] Image crop(const Image& image, const Box& box);

/// Mean of channels of one size, sample by sample; at least one channel.
[[nodiscard]] Image mean_of(const std::vector<Image>& channels);

/// a - b and a * b, sample by sample; equal sizes.
[[nodiscard]] Image difference(const Image& a, const Image& b);
[[nodiscard]] Image product(const Image& a, const Image& b);

[[nodiscard]] double mean(const Image& image);

/// Smallest and largest sample; the image has samples.
struct Range {
  double lowest = 0;
  double highest = 0;
};

[[nodiscard]] Range range_of(const Image& image);

/// Slopes in x and y: half the difference of the neighbours, the whole one-sided difference at the
/// edges. At least 2 x 2 px.
struct Gradient {
  Image x;
  Image y;
};

[[nodiscard]] Gradient gradient_of(const Image& image);

}  // namespace lull::judge
