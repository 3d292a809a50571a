#include "globe/limb_blur.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "align/field_kernels.h"
#include "align/gaussian_blur.h"
#include "core/parallel.h"

namespace lull::globe {

namespace {

bool is_dark(const float* row, int width) {
  return std::all_of(row, row + width, [](float value) { return value == 0; });
}

// Beyond the edges, and in most of a plane, there is no light.
Plane blurred_down(PlaneView from, const std::vector<float>& taps) {
  const int reach = static_cast<int>(taps.size()) - 1;
  const int width = from.width_px;
  const std::vector<float> none(static_cast<std::size_t>(width));
  std::vector<const float*> lit(static_cast<std::size_t>(from.height_px + 2 * reach), none.data());
  for (int y = 0; y < from.height_px; ++y) {
    if (!is_dark(from.row(y), width)) lit[static_cast<std::size_t>(y + reach)] = from.row(y);
  }
  Plane out(from.size());
  parallel_for(from.height_px, [&](std::int64_t y) {
    const float* const* rows = lit.data() + y;
    const bool dark = std::all_of(rows, rows + 2 * reach + 1,
                                  [&](const float* row) { return row == none.data(); });
    if (!dark)
      align::kernels::blur()(rows, taps.data(), reach, width, out.row(static_cast<int>(y)));
  });
  return out;
}

Plane blurred_across(PlaneView from, const std::vector<float>& taps) {
  const int reach = static_cast<int>(taps.size()) - 1;
  const int width = from.width_px;
  Plane out(from.size());
  parallel_for(from.height_px, [&](std::int64_t y) {
    const float* row = from.row(static_cast<int>(y));
    if (is_dark(row, width)) return;
    std::vector<float> line(static_cast<std::size_t>(width + 2 * reach));
    std::copy_n(row, width, line.begin() + reach);
    std::vector<const float*> shifted;
    shifted.reserve(2 * taps.size() - 1);
    for (int i = 0; i <= 2 * reach; ++i) shifted.push_back(line.data() + i);
    align::kernels::blur()(shifted.data(), taps.data(), reach, width, out.row(static_cast<int>(y)));
  });
  return out;
}

}  // namespace

Plane blurred(const Plane& sharp, double sigma_px) {
  const int reach = std::max(1, static_cast<int>(std::ceil(kBlurReach * sigma_px)));
  const std::vector<float> taps = align::half_gaussian(sigma_px, reach);
  return blurred_across(blurred_down(sharp.view(), taps).view(), taps);
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
