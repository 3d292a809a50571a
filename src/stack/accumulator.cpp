#include "stack/accumulator.h"

#include <algorithm>
#include <utility>

#include "core/parallel.h"

namespace lull::stack {

namespace {

constexpr int kBandRows = 16;
constexpr int kFarthestNeighbourPx = 2;

// Fills pixels without weight from those around them, ring by ring.
void fill_from_neighbours(Plane& picture, PlaneView weight) {
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      if (weight.row(y)[x] > 0) continue;
      float sum = 0;
      float found = 0;
      for (int reach = 1; reach <= kFarthestNeighbourPx && found == 0; ++reach) {
        for (int j = std::max(y - reach, 0); j <= std::min(y + reach, picture.height() - 1); ++j) {
          for (int i = std::max(x - reach, 0); i <= std::min(x + reach, picture.width() - 1); ++i) {
            if (weight.row(j)[i] <= 0) continue;
            sum += picture.row(j)[i];
            ++found;
          }
        }
      }
      if (found > 0) picture.row(y)[x] = sum / found;
    }
  }
}

// light / weight, in place.
Plane quotient(Plane light, PlaneView weight, Gaps gaps) {
  for (int y = 0; y < light.height(); ++y) {
    const float* w = weight.row(y);
    float* row = light.row(y);
    for (int x = 0; x < light.width(); ++x) row[x] = w[x] > 0.0F ? row[x] / w[x] : 0.0F;
  }
  if (gaps == Gaps::neighbours) fill_from_neighbours(light, weight);
  return light;
}

}  // namespace

Accumulator::Accumulator(std::shared_ptr<const Sampler> sampler, int channels, Gaps gaps)
    : sampler_(std::move(sampler)), gaps_(gaps), sums_(static_cast<std::size_t>(channels)) {
  for (auto& halves : sums_) {
    for (Sums& sums : halves) sums = {Plane(grid().size()), Plane(grid().size())};
  }
}

Accumulator Accumulator::like() const {
  Accumulator out(sampler_, channels(), gaps_);
  out.offsets_ = offsets_;
  return out;
}

Accumulator Accumulator::copy() const {
  Accumulator out = like();
  for (int c = 0; c < channels(); ++c) {
    for (const Half half : kHalves) {
      out.sums(c, half) = {Plane::copy_of(sums(c, half).light.view()),
                           Plane::copy_of(sums(c, half).weight.view())};
    }
  }
  return out;
}

void Accumulator::add(const std::vector<Contribution>& batch) {
  const int height = grid().size().height_px;
  const int bands = (height + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    const int first = static_cast<int>(band) * kBandRows;
    PlacedRow row;
    for (const Contribution& part : batch) {
      for (int y = first; y < std::min(first + kBandRows, height); ++y) {
        for (int c = 0; c < channels(); ++c) {
          const ChannelSamples& samples = part.channels[static_cast<std::size_t>(c)];
          row.place(grid(), *part.field, offsets_[static_cast<std::size_t>(c)], y);
          row.weigh(grid(), *part.field, *part.weights, samples.plane->size());
          Sums& to = sums(c, part.half);
          sampler_->add(samples, static_cast<float>(part.gain), row,
                        {to.light.row(y), to.weight.row(y)});
        }
      }
    }
  });
}

Plane Accumulator::mean(int channel) const {
  Plane light = Plane::copy_of(sums(channel, Half::first).light.view());
  lull::add(light.view(), sums(channel, Half::second).light.view());
  const Plane total = weight(channel);
  return quotient(std::move(light), total.view(), gaps_);
}

Plane Accumulator::half_mean(int channel, Half half) const {
  const Sums& from = sums(channel, half);
  return quotient(Plane::copy_of(from.light.view()), from.weight.view(), gaps_);
}

Plane Accumulator::weight(int channel) const {
  Plane out = Plane::copy_of(half_weight(channel, Half::first));
  lull::add(out.view(), half_weight(channel, Half::second));
  return out;
}

PlaneView Accumulator::half_weight(int channel, Half half) const {
  return sums(channel, half).weight.view();
}

Plane Accumulator::valid() const {
  const PlaneView first = half_weight(0, Half::first);
  const PlaneView second = half_weight(0, Half::second);
  Plane out(grid().size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = first.row(y)[x] > 0.0F && second.row(y)[x] > 0.0F ? 1.0F : 0.0F;
  }
  return out;
}

}  // namespace lull::stack
