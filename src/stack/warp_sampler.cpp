#include "align/field_kernels.h"
#include "stack/sampler.h"

namespace lull::stack {

namespace {

class WarpSampler : public Sampler {
 public:
  using Sampler::Sampler;

  void add(const ChannelSamples& samples, float gain, PlacedRow& row, SumsRow sums) const override {
    align::kernels::add_weighted()(row.sampled(samples), row.weight(), gain, row.count(),
                                   sums.light, sums.weight);
  }
};

}  // namespace

std::shared_ptr<const Sampler> warp_sampler(Size reference) {
  return std::make_shared<WarpSampler>(PictureGrid(reference, 1));
}

}  // namespace lull::stack
