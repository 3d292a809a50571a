#include "stack/frame_comparison.h"

#include <algorithm>
#include <utility>

#include "spectrum/frc.h"

namespace lull::stack {

namespace {

constexpr std::size_t kFrames = 192;
constexpr std::size_t kOfCapture = Candidates::kMostEvenly / 2;  // each is at hand already

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

// What a stack is compared with.
class FrameComparison {
 public:
  FrameComparison(const Accumulator& stacks, FrameBatch& batch, const Candidates& candidates,
                  std::size_t kept, const quality::Target& target, capture::Colour colour,
                  const Progress& progress)
      : batch_(batch),
        candidates_(candidates),
        kept_(kept),
        box_(candidates.covered(kept, stacks.grid().size())),
        colour_(colour),
        progress_(progress),
        first_(stacks.half_mean(0, Half::first)),
        second_(stacks.half_mean(0, Half::second)),
        mean_(stacks.mean()),
        light_(mean_light(mean_, box_, target.lit)),
        bounds_(mean_.view(), stacks.valid().view()),
        resolution_(
            spectrum::fourier_ring_correlation(first_.view().crop(box_), second_.view().crop(box_))
                .resolution()
                .value_or(0)) {}

  [[nodiscard]] std::vector<spectrum::RatioRing> with_kept() {
    return with("measuring the blur", spread_over(kept_), [this](RegisteredFrames&& frames) {
      return std::move(frames).weigh_by_sharpness(bounds_);
    });
  }

  [[nodiscard]] std::vector<spectrum::RatioRing> with_capture() {
    return with("measuring the air", candidates_.evenly(kOfCapture),
                [](RegisteredFrames&& frames) { return std::move(frames).weigh_equally(); });
  }

 private:
  template <class Weigh>
  std::vector<spectrum::RatioRing> with(const char* stage,
                                        const std::vector<std::size_t>& positions,
                                        const Weigh& weigh) {
    SpectralRatio ratio(box_, colour_, mean_.view(), resolution_);
    batch_.load_each(positions, stage, progress_, [&](LoadedFrames&& loaded) {
      ratio.add(parts_of(weigh(std::move(loaded).at_tracked_shifts()), candidates_, light_));
    });
    return ratio.against(first_.view(), second_.view());
  }

  FrameBatch& batch_;
  const Candidates& candidates_;
  std::size_t kept_;
  Box box_;
  capture::Colour colour_;
  const Progress& progress_;
  Plane first_;
  Plane second_;
  Plane mean_;
  double light_;
  OutlierBounds bounds_;
  double resolution_;
};

}  // namespace

std::vector<spectrum::RatioRing> compare_with_kept(const Accumulator& stacks, FrameBatch& batch,
                                                   const Candidates& candidates, std::size_t kept,
                                                   const quality::Target& target,
                                                   capture::Colour colour,
                                                   const Progress& progress) {
  return FrameComparison(stacks, batch, candidates, kept, target, colour, progress).with_kept();
}

std::vector<spectrum::RatioRing> compare_with_frames(const Accumulator& stacks, FrameBatch& batch,
                                                     const Candidates& candidates, std::size_t kept,
                                                     const quality::Target& target,
                                                     capture::Colour colour,
                                                     const Progress& progress) {
  FrameComparison comparison(stacks, batch, candidates, kept, target, colour, progress);
  auto rings = comparison.with_kept();
  if (target.kind == quality::TargetKind::disc) return rings;  // dark sky tells more
  const auto of_capture = comparison.with_capture();
  for (std::size_t k = 0; k < rings.size(); ++k) {
    rings[k].capture_power = of_capture[k].frame_power;
    rings[k].capture_noise = of_capture[k].frame_noise;
    rings[k].capture_mean_power = of_capture[k].mean_power;
  }
  return rings;
}

}  // namespace lull::stack
