#include <algorithm>

#include "stack/sampler.h"

namespace lull::stack {

namespace {

class MosaicSampler : public Sampler {
 public:
  using Sampler::Sampler;

  void add(const ChannelSamples& samples, float gain, PlacedRow& row, SumsRow sums) const override {
    const align::PaddedFrame& frame = *samples.plane;
    const std::ptrdiff_t stride = frame.stride_elems();
    const auto right = static_cast<float>(frame.size().width_px - 1);
    const auto bottom = static_cast<float>(frame.size().height_px - 1);
    for (int k = 0; k < row.count(); ++k) {
      const float weight = row.weight()[k];
      if (weight <= 0) continue;
      const float x = std::clamp(row.x()[k], 0.0F, right);
      const float y = std::clamp(row.y()[k], 0.0F, bottom);
      const int x0 = static_cast<int>(x);
      const int y0 = static_cast<int>(y);
      const float tx = x - static_cast<float>(x0);
      const float ty = y - static_cast<float>(y0);
      const float* at = frame.origin() + y0 * stride + x0;
      float sum = 0;
      float share = 0;
      for (int j = 0; j < 2; ++j) {
        for (int i = 0; i < 2; ++i) {
          if (!samples.at_parity[(y0 + j) & 1][(x0 + i) & 1]) continue;
          const float near = (i == 0 ? 1 - tx : tx) * (j == 0 ? 1 - ty : ty);
          sum += near * at[j * stride + i];
          share += near;
        }
      }
      sums.light[k] += weight * gain * sum;
      sums.weight[k] += weight * share;
    }
  }
};

}  // namespace

std::shared_ptr<const Sampler> mosaic_sampler(Size reference) {
  return std::make_shared<MosaicSampler>(PictureGrid(reference, 1));
}

}  // namespace lull::stack
