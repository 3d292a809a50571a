#include "globe/limb_blur.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/parallel.h"

namespace lull::globe {

namespace {

std::vector<float> gaussian(double sigma_px) {
  const int reach = std::max(1, static_cast<int>(std::ceil(kBlurReach * sigma_px)));
  std::vector<float> taps(2 * static_cast<std::size_t>(reach) + 1);
  double sum = 0;
  for (int i = -reach; i <= reach; ++i) sum += std::exp(-0.5 * i * i / (sigma_px * sigma_px));
  for (int i = -reach; i <= reach; ++i)
    taps[static_cast<std::size_t>(i + reach)] =
        static_cast<float>(std::exp(-0.5 * i * i / (sigma_px * sigma_px)) / sum);
  return taps;
}

// Along rows, into a plane that is turned: twice, and it is blurred both ways. Most of it is dark.
Plane blurred_rows_turned(PlaneView from, const std::vector<float>& taps) {
  const int reach = static_cast<int>(taps.size()) / 2;
  const int width = from.width_px;
  Plane out(from.height_px, width);
  parallel_for(from.height_px, [&](std::int64_t y) {
    std::vector<float> line(static_cast<std::size_t>(width) + 2 * static_cast<std::size_t>(reach));
    const float* row = from.row(static_cast<int>(y));
    for (int x = 0; x < width; ++x) {
      if (row[x] == 0) continue;
      for (std::size_t i = 0; i < taps.size(); ++i)
        line[static_cast<std::size_t>(x) + i] += taps[i] * row[x];
    }
    for (int x = 0; x < width; ++x) out.row(x)[y] = line[static_cast<std::size_t>(x + reach)];
  });
  return out;
}

}  // namespace

Plane blurred(const Plane& sharp, double sigma_px) {
  const std::vector<float> taps = gaussian(sigma_px);
  const Plane turned = blurred_rows_turned(sharp.view(), taps);
  return blurred_rows_turned(turned.view(), taps);
}

Plane mixed(const Plane& first, const Plane& second, double share) {
  Plane out = Plane::copy_of(first.view());
  scale(out.view(), static_cast<float>(1 - share));
  return weighted_sum(out.view(), static_cast<float>(share), second.view());
}

Gradient gradient_at(const Plane& plane, int x, int y) {
  return {0.5 * static_cast<double>(plane.row(y)[x + 1] - plane.row(y)[x - 1]),
          0.5 * static_cast<double>(plane.row(y + 1)[x] - plane.row(y - 1)[x])};
}

double spreading_at(const Plane& plane, int x, int y, double sigma_px) {
  const float* row = plane.row(y);
  const float around = row[x - 1] + row[x + 1] + plane.row(y - 1)[x] + plane.row(y + 1)[x];
  return sigma_px * sigma_px * static_cast<double>(around - 4 * row[x]);
}

}  // namespace lull::globe
