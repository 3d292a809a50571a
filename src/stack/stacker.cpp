#include "stack/stacker.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "spectrum/sampling.h"
#include "stack/final_stack.h"
#include "stack/frame_comparison.h"
#include "stack/reference.h"
#include "stack/surroundings.h"

namespace lull::stack {

namespace {

constexpr int kSamplingSteps = 48;
constexpr double kFinestSampling = 0.75;  // cycles/px: beyond the corner of the spectrum

double share_without_weight(const std::vector<Plane>& weights) {
  std::int64_t without = 0;
  std::int64_t all = 0;
  for (const Plane& plane : weights) {
    for (int y = 0; y < plane.height(); ++y)
      without += std::count(plane.row(y), plane.row(y) + plane.width(), 0.0F);
    all += plane.size().area_px();
  }
  return static_cast<double>(without) / static_cast<double>(all);
}

Box relative_to(const Box& origin, const Box& box) {
  return {box.x0 - origin.x0, box.y0 - origin.y0, box.x1 - origin.x0, box.y1 - origin.y0};
}

class Stacker {
 public:
  Stacker(capture::FrameStore& store, const survey::Survey& survey, const StackOptions& options,
          const Progress& progress)
      : store_(store),
        survey_(survey),
        options_(options),
        progress_(progress),
        candidates_(survey, options.keep, store.info().path),
        size_(store.info().size),
        batch_(store, survey, candidates_, options.memory_bytes) {
    store_.retain([wanted = candidates_.indices()](FrameIndex i) { return wanted.contains(i); });
    store_.prefer(candidates_.reference_indices());
  }

  StackResult run() {
    const FinalStack stacked = final_stack();
    describe(stacked);
    fill_in(stacked);
    for (int i = 0; i <= kSamplingSteps; ++i) {
      const double frequency = kFinestSampling * i / kSamplingSteps;
      result_.sampling.push_back({frequency, left_by_sampling(frequency)});
    }
    if (illustrator_) illustrate(stacked);
    if (options_.comparison == Comparison::with_frames) {
      result_.ratio = compare_with_frames(stacked.sums.light, batch_, candidates_, stacked.kept,
                                          survey_.target, store_.info().colour, progress_);
      for (auto& ring : result_.ratio) ring.frequency /= options_.enlargement.scale;
    }
    return std::move(result_);
  }

 private:
  FinalStack final_stack() {
    FinalPass::Options options;
    options.info = &store_.info();
    const Reference reference =
        build_reference(batch_, candidates_, size_, options_.patch_px, progress_);
    result_.patch_px = reference.patch_px;
    if (has_colour(store_.info()) && options_.dispersion == Dispersion::measured_and_undone) {
      options.dispersion =
          measure_dispersion(reference, batch_, candidates_, store_.info(), progress_);
    }
    options.enlargement = options_.enlargement;
    options.transfer_of = options_.transfer_of;
    options.pieces = options_.pieces;
    options.watcher = options_.watcher;
    options.target = survey_.target;
    // The fine grid holds more than the spectrum of a frame does.
    options.fuse =
        options_.fusion == Fusion::frequency && !enlarges() && FrequencyFusion::fits(size_);
    if (options_.illustrations == Illustrations::of_the_run)
      illustrator_.emplace(candidates_.count());
    options.illustrator = illustrator_ ? &*illustrator_ : nullptr;
    return FinalPass(batch_, candidates_, reference, options, progress_).run();
  }

  // Frames are warped, their samples are those of a mosaic, or they fall as drops on finer pixels.
  [[nodiscard]] double left_by_sampling(double frequency) const {
    const auto [scale, pixfrac] = options_.enlargement;
    if (enlarges()) {
      return spectrum::drop_transfer(frequency * scale, pixfrac) *
             spectrum::drop_transfer(frequency, 1);
    }
    return store_.info().colour == capture::Colour::cfa ? spectrum::tent_transfer(frequency)
                                                        : spectrum::cubic_transfer(frequency);
  }

  [[nodiscard]] bool enlarges() const { return options_.enlargement.scale > 1; }

  void describe(const FinalStack& stacked) {
    const Box whole{0, 0, size_.width_px, size_.height_px};
    result_.crop = options_.area == Area::whole ? whole : candidates_.covered(stacked.kept, size_);
    result_.fused = stacked.fused.has_value();
    result_.steps = stacked.steps;
    result_.local_shift_rms_px = stacked.local_shift_rms_px;
    result_.outliers = stacked.outliers;
    for (std::size_t i = 0; i < stacked.kept; ++i) result_.kept.push_back(candidates_.at(i).index);
    // Lengths of the map are still in frame pixels.
    NodeMap map = stacked.effective.map(result_.crop);
    const double scale = options_.enlargement.scale;
    const Box crop = stacked.sums.grid().inside(result_.crop);
    map.step_px *= scale;
    map.x0_px = (map.x0_px + result_.crop.x0 + 0.5) * scale - 0.5 - crop.x0;
    map.y0_px = (map.y0_px + result_.crop.y0 + 0.5) * scale - 0.5 - crop.y0;
    result_.effective_frames = std::move(map);
  }

  // All is made with its surroundings first.
  void fill_in(const FinalStack& stacked) {
    const StackSums& sums = stacked.sums;
    const Box crop = sums.grid().inside(result_.crop);
    const Box around = sums.grid().inside(surroundings(sums.channels(), result_.crop));
    const Box picture = relative_to(around, crop);
    std::vector<PictureSet> channels;
    channels.reserve(static_cast<std::size_t>(sums.channels().channels()));
    for (int c = 0; c < sums.channels().channels(); ++c)
      channels.push_back(cropped(sums.means_of(c), around));
    PictureSet luminance =
        sums.drops ? luminance_of(channels) : cropped(means(sums.light, 0), around);
    // From the classic stacks: fused halves share the reference by which they were weighed, errors
    // and all, so their agreement would promise too much.
    const Box inner =
        relative_to(around, sums.grid().inside(candidates_.covered(stacked.kept, size_)));
    result_.frc = spectrum::fourier_ring_correlation(luminance.halves[0].view().crop(inner),
                                                     luminance.halves[1].view().crop(inner));
    for (std::size_t half = 0; half < 2; ++half)
      result_.selected[half] = Plane::copy_of(luminance.halves[half].view().crop(picture));
    if (stacked.fused) {
      // Frames in colour are summed sample by sample, so there is no spectrum of a frame's colour
      // to go by: fusion is that of the luminance, and the colours take their share of the change.
      PictureSet fused = cropped(*stacked.fused, around);
      for (PictureSet& channel : channels) share_correction(luminance, fused, channel, picture);
      luminance = std::move(fused);
    }
    result_.noise = noise_between(luminance.halves[0].view().crop(inner),
                                  luminance.halves[1].view().crop(inner));
    PictureSet shown = cropped(luminance, picture);
    result_.picture = std::move(shown.whole);
    std::move(shown.halves.begin(), shown.halves.end(), result_.halves);
    result_.surroundings.picture = picture;
    if (sums.colours) {
      add_colours(std::move(channels), picture, sums.colours->offsets());
    } else {
      result_.surroundings.channels.push_back(std::move(luminance.whole));
    }
    if (sums.drops) describe_enlargement(*sums.drops, crop);
  }

  void add_colours(std::vector<PictureSet> channels, const Box& picture,
                   const std::array<Displacement, 3>& offsets) {
    for (std::size_t c = 0; c < channels.size(); ++c) {
      PictureSet shown = cropped(channels[c], picture);
      ColourResult colour;
      colour.picture = std::move(shown.whole);
      std::move(shown.halves.begin(), shown.halves.end(), colour.halves);
      colour.dispersion = offsets[c];
      result_.colours.push_back(std::move(colour));
      result_.surroundings.channels.push_back(std::move(channels[c].whole));
    }
  }

  void describe_enlargement(const Accumulator& drops, const Box& crop) {
    EnlargedResult& enlarged = result_.enlarged.emplace();
    enlarged.enlargement = options_.enlargement;
    for (int c = 0; c < drops.channels(); ++c)
      enlarged.weights.push_back(Plane::copy_of(std::as_const(drops).weight(c).view().crop(crop)));
    enlarged.filled = share_without_weight(enlarged.weights);
  }

  // The sharpest frame as the stack takes it in: warped, alone.
  void illustrate(const FinalStack& stacked) {
    result_.illustration = illustrator_->finish(result_.crop, stacked.kept);
    if (illustrator_->best_field().rows() == 0) return;
    const WeightedFrames best =
        batch_.load({0}).at_fields({{0, {illustrator_->best_field(), 1.0}}}).weigh_equally();
    if (best.count() == 0) return;
    const StackSums& sums = stacked.sums;
    Accumulator alone = sums.channels().like();
    alone.add(best.contributions(sums.colours ? Channels::colours : Channels::luminance));
    for (int c = 0; c < alone.channels(); ++c) {
      const Plane large = sums.grid().enlarged(alone.mean(c).view());
      result_.illustration->best_frame.push_back(
          Plane::copy_of(large.view().crop(sums.grid().inside(result_.crop))));
    }
  }

  capture::FrameStore& store_;
  const survey::Survey& survey_;
  const StackOptions& options_;
  const Progress& progress_;
  Candidates candidates_;
  Size size_;
  FrameBatch batch_;
  std::optional<Illustrator> illustrator_;
  StackResult result_;
};

}  // namespace

StackResult stack(capture::FrameStore& frames, const survey::Survey& survey,
                  const StackOptions& options, const Progress& progress) {
  return Stacker(frames, survey, options, progress).run();
}

}  // namespace lull::stack
