#include <algorithm>
#include <utility>

#include "stack/sampler.h"

namespace lull::stack {

namespace {

// Length of the overlap of two intervals whose centres are `apart`.
struct Overlap {
  float reach;  ///< half the sum of their lengths
  float most;   ///< the shorter one's length

  float operator()(float apart) const { return std::clamp(reach - apart, 0.0F, most); }
};

// Asks for each pixel which drops overlap it. Seen from the frame a pixel is a square of side 1 /
// scale, so these are at most the four around its centre.
class DropSampler : public Sampler {
 public:
  DropSampler(PictureGrid grid, double pixfrac)
      : Sampler(std::move(grid)),
        pixel_(static_cast<float>(1 / this->grid().scale())),
        drop_(static_cast<float>(pixfrac)) {}

  void add(const ChannelSamples& samples, float gain, PlacedRow& row, SumsRow sums) const override {
    const std::ptrdiff_t stride = samples.plane->stride_elems();
    const Overlap overlap{(pixel_ + drop_) / 2, std::min(pixel_, drop_)};
    const float per_pixel = 1 / (pixel_ * pixel_);
    for (int k = 0; k < row.count(); ++k) {
      if (row.weight()[k] <= 0) continue;  // so the centre is inside the frame
      const float x = row.x()[k];
      const float y = row.y()[k];
      const int x0 = static_cast<int>(x);
      const int y0 = static_cast<int>(y);
      const float tx = x - static_cast<float>(x0);
      const float ty = y - static_cast<float>(y0);
      const float across[2] = {overlap(tx), overlap(1 - tx)};
      const float down[2] = {overlap(ty), overlap(1 - ty)};
      const float* at = samples.plane->origin() + y0 * stride + x0;
      float sum = 0;
      float area = 0;
      for (int j = 0; j < 2; ++j) {
        for (int i = 0; i < 2; ++i) {
          if (!samples.at_parity[(y0 + j) & 1][(x0 + i) & 1]) continue;
          const float shared = across[i] * down[j];
          sum += shared * at[j * stride + i];
          area += shared;
        }
      }
      const float weight = row.weight()[k] * per_pixel;
      sums.light[k] += weight * gain * sum;
      sums.weight[k] += weight * area;
    }
  }

 private:
  float pixel_;  ///< sides, frame pixels
  float drop_;
};

}  // namespace

std::shared_ptr<const Sampler> drop_sampler(PictureGrid grid, double pixfrac) {
  return std::make_shared<DropSampler>(std::move(grid), pixfrac);
}

}  // namespace lull::stack
