#include "stack/frame_comparison.h"

#include <algorithm>
#include <utility>

namespace lull::stack {

namespace {

constexpr std::size_t kFrames = 48;

// Mean over the pixels on which the noise of the frames was measured.
double mean_light_of_object(const Plane& picture, const Box& box, double object) {
  const auto least = static_cast<float>(object);
  double sum = 0;
  double count = 0;
  for (int y = box.y0; y < box.y1; ++y) {
    for (int x = box.x0; x < box.x1; ++x) {
      if (picture.row(y)[x] < least) continue;
      sum += static_cast<double>(picture.row(y)[x]);
      ++count;
    }
  }
  return count > 0 ? sum / count : 0;
}

// Variance over light.
double photon_noise(double noise, double object_light) {
  return object_light > 0 ? noise * noise / object_light : 0;
}

}  // namespace

std::vector<spectrum::RatioRing> compare_with_frames(const Accumulator& stacks, FrameBatch& batch,
                                                     const Candidates& candidates, std::size_t kept,
                                                     double object, bool cfa,
                                                     const Progress& progress) {
  const Box box = candidates.covered(kept, stacks.grid().size());
  SpectralRatio ratio(box, cfa);
  const double object_light = mean_light_of_object(stacks.mean(), box, object);
  const OutlierBounds bounds(stacks.mean().view(), stacks.valid().view());
  const std::size_t count = std::min(kFrames, kept);
  for (std::size_t first = 0; first < count; first += batch.most()) {
    progress.step("measuring the blur", static_cast<std::int64_t>(first),
                  static_cast<std::int64_t>(count));
    std::vector<std::size_t> positions;
    for (std::size_t i = first; i < std::min(first + batch.most(), count); ++i)
      positions.push_back(i * kept / count);
    batch.load(std::move(positions), true);
    batch.weigh(bounds);
    std::vector<SpectralRatio::Part> parts;
    for (std::size_t i = 0; i < batch.count(); ++i) {
      const LoadedFrame& loaded = batch[i];
      parts.push_back({loaded.frame.view(), &loaded.estimate.field, &loaded.weights,
                       loaded.estimate.gain,
                       photon_noise(candidates.at(loaded.position).noise, object_light)});
    }
    ratio.add(parts);
  }
  return ratio.against(stacks.half_mean(0, Half::first).view(),
                       stacks.half_mean(0, Half::second).view());
}

}  // namespace lull::stack
