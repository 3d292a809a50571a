#include "align/gaussian_blur.h"

#include <algorithm>
#include <cmath>

#include "align/field_kernels.h"

namespace lull::align {

namespace {

constexpr double kReach = 2.7;  // standard deviations

}  // namespace

std::vector<float> half_gaussian(double sigma_px, int radius) {
  std::vector<float> taps{1};
  float sum = 1;
  for (int k = 1; k <= radius; ++k) {
    taps.push_back(static_cast<float>(std::exp(-0.5 * k * k / (sigma_px * sigma_px))));
    sum += 2 * taps.back();
  }
  for (float& tap : taps) tap /= sum;
  return taps;
}

GaussianBlur::GaussianBlur(double sigma_px, int step)
    : taps_(half_gaussian(sigma_px, static_cast<int>(std::ceil(kReach * sigma_px)))), step_(step) {}

Size GaussianBlur::kept(Size size) const {
  return {(size.width_px + step_ - 1) / step_, (size.height_px + step_ - 1) / step_};
}

// Row by row: down into a line with its ends repeated, then across.
void GaussianBlur::apply(PlaneView in, Workspace& work, MutablePlaneView out) const {
  const int radius = static_cast<int>(taps_.size()) - 1;
  const int width = in.width_px;
  work.line.resize(static_cast<std::size_t>(width + std::ptrdiff_t{2} * radius));
  work.across.resize(static_cast<std::size_t>(width));
  work.rows.resize(static_cast<std::size_t>(std::ptrdiff_t{2} * radius + 1));
  float* line = work.line.data() + radius;
  const float** around = work.rows.data() + radius;
  for (int y = 0; y < out.height_px; ++y) {
    for (int k = -radius; k <= radius; ++k)
      around[k] = in.row(std::clamp(step_ * y + k, 0, in.height_px - 1));
    kernels::blur()(work.rows.data(), taps_.data(), radius, width, line);
    std::fill_n(line - radius, radius, line[0]);
    std::fill_n(line + width, radius, line[width - 1]);
    for (int k = -radius; k <= radius; ++k) around[k] = line + k;
    float* across = step_ == 1 ? out.row(y) : work.across.data();
    kernels::blur()(work.rows.data(), taps_.data(), radius, width, across);
    if (step_ > 1) kernels::every()(across, step_, 1, out.width_px, out.row(y));
  }
}

}  // namespace lull::align
