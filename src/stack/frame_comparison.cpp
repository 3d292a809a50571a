#include "stack/frame_comparison.h"

#include <algorithm>
#include <utility>

#include "spectrum/frc.h"

namespace lull::stack {

namespace {

constexpr std::size_t kFrames = 192;

// Mean over the pixels on which the noise of the frames was measured.
double mean_light(const Plane& picture, const Box& box, double lit) {
  const auto least = static_cast<float>(lit);
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
double photon_noise(double noise, double light) { return light > 0 ? noise * noise / light : 0; }

std::vector<SpectralRatio::Part> parts_of(const WeightedFrames& frames,
                                          const Candidates& candidates, double light) {
  std::vector<SpectralRatio::Part> parts;
  for (std::size_t i = 0; i < frames.count(); ++i) {
    const align::FieldEstimate& estimate = frames.estimate(i);
    parts.push_back({frames.luminance(i), &estimate.field, &frames.weights(i), estimate.gain,
                     photon_noise(candidates.at(frames.position(i)).noise, light)});
  }
  return parts;
}

// From the best to the worst of the kept ones.
std::vector<std::size_t> spread_over(std::size_t kept) {
  const std::size_t count = std::min(kFrames, kept);
  std::vector<std::size_t> positions;
  for (std::size_t i = 0; i < count; ++i) positions.push_back(i * kept / count);
  return positions;
}

}  // namespace

std::vector<spectrum::RatioRing> compare_with_frames(const Accumulator& stacks, FrameBatch& batch,
                                                     const Candidates& candidates, std::size_t kept,
                                                     const quality::Target& target,
                                                     capture::Colour colour,
                                                     const Progress& progress) {
  const Box box = candidates.covered(kept, stacks.grid().size());
  const Plane first = stacks.half_mean(0, Half::first);
  const Plane second = stacks.half_mean(0, Half::second);
  const double resolution =
      spectrum::fourier_ring_correlation(first.view().crop(box), second.view().crop(box))
          .resolution()
          .value_or(0);
  const Plane mean = stacks.mean();
  const double light = mean_light(mean, box, target.lit);
  const OutlierBounds bounds(mean.view(), stacks.valid().view());
  const auto measure = [&](const char* stage, const std::vector<std::size_t>& positions,
                           const auto& weigh) {
    SpectralRatio ratio(box, colour, mean.view(), resolution);
    batch.load_each(positions, stage, progress, [&](LoadedFrames&& loaded) {
      ratio.add(parts_of(weigh(std::move(loaded).at_tracked_shifts()), candidates, light));
    });
    return ratio.against(first.view(), second.view());
  };
  auto rings = measure("measuring the blur", spread_over(kept), [&](RegisteredFrames&& frames) {
    return std::move(frames).weigh_by_sharpness(bounds);
  });
  if (target.kind == quality::TargetKind::disc) return rings;  // dark sky tells more
  const auto of_capture =
      measure("measuring the air", candidates.evenly(Candidates::kMostEvenly),
              [](RegisteredFrames&& frames) { return std::move(frames).weigh_equally(); });
  for (std::size_t k = 0; k < rings.size(); ++k) {
    rings[k].capture_power = of_capture[k].frame_power;
    rings[k].capture_noise = of_capture[k].frame_noise;
    rings[k].capture_mean_power = of_capture[k].mean_power;
  }
  return rings;
}

}  // namespace lull::stack
